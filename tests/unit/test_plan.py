"""The spin plan of the demonstration mill against hand arithmetic, and its balances of mass, time and length."""

from __future__ import annotations

import math
from functools import cache

import pytest

from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.report.plan_values import figures_of
from ringwright.setting.plan import Order, spin_plan
from ringwright.sources import bibliography
from ringwright.units import in_unit

MILL = read_mill(demo_mill_path())
SETTINGS = [(setting.frame, setting.yarn) for setting in MILL.settings.values()]
F1 = MILL.frames["F1"]
ORIGINS = {"measured", "computed", "assumed", "common practice", "stated"}


@cache
def plan_of(frame="F1", yarn="AV30K"):
    return spin_plan(MILL, frame, yarn, Order(mass=20_000, time=120 * 3600))


def a_mill(frame=None, yarn=None, **changes):
    """The demonstration mill with some values of F1 and AV30K changed, and whole tables of the mill."""
    f1 = F1.model_copy(update=frame or {})
    av30k = MILL.yarns["AV30K"].model_copy(update=yarn or {})
    return MILL.model_copy(update={"frames": {"F1": f1}, "yarns": {"AV30K": av30k}} | changes)


def notes_of(mill):
    return " ".join(spin_plan(mill, "F1", "AV30K").notes).replace("\u202f", " ")


# F1 with AV30K, from 30 Ne, TM 3.6, roving 0.70 hank and the frame's own sizes, with a pocket calculator.
# 590.541 tex is 1 Ne, 39.3701 in are 1 m. C = 2.67 x 3.6 - 4.93 = 4.682 %, 1 - C = 0.95318.
BY_HAND = [
    ("twist.count", "tex", 19.6847, "590.541 / 30"),
    ("twist.multiplier", "TM", 3.6, "as written"),
    ("twist.multiplier", "alpha_tex", 3444.2, "776.300 x root 19.6847"),
    ("twist.multiplier", "alpha_m", 108.92, "776.300 / root (1000 / 19.6847)"),
    ("twist.twist", "tpi", 19.7180, "3.6 x root 30"),
    ("twist.twist", "t/m", 776.300, "19.7180 x 39.3701"),
    ("twist.contraction", "%", 4.682, "2.67 x 3.6 - 4.93"),
    ("twist.delivered", "t/m", 739.953, "776.300 x 0.95318"),
    ("twist.strand_count", "tex", 18.7631, "19.6847 x 0.95318"),
    ("draft.by_counts", "1", 42.8571, "30 / 0.70"),
    ("draft.total", "1", 44.9623, "42.8571 / 0.95318"),
    ("draft.main", "1", 38.1036, "44.9623 / 1.18"),
    ("speeds.main.delivery", "m/min", 21.6230, "16 000 / 739.953"),
    # 5 % at the log. mean of 13 400 and 15 200, 14 281; 5 % at 15 597; 80 % at 16 000; 10 % at 15 341
    ("speeds.mean.spindle", "rpm", 15816.4, "1 / (0.05 / 14281 + 0.05 / 15597 + 0.8 / 16000 + 0.1 / 15341)"),
    ("production.per_spindle", "g/h", 22.138, "15816.4 x 60 x 0.92 / 776.300 x 0.0196847"),
    ("production.per_frame", "kg/h", 22.3155, "22.138 x 1008 / 1000"),
    ("production.per_frame_shift", "kg", 178.52, "22.3155 x 8"),
    ("roving_supply.run_out_time", "h", 58.72, "1300 / 22.138"),
    ("roving_supply.bobbins_per_shift", "1", 137.33, "178.52 / 1.3"),
    ("roving_supply.feed_speed", "m/min", 0.47540, "15816.4 / 739.953 / 44.9623"),
    ("fibres.in_section", "1", 123.03, "19.6847 / 0.16"),
    ("fibres.fewest", "1", 33, "Klein 1987: 33 fibres for combed yarn"),
    ("fibres.finest_count", "tex", 5.28, "33 x 0.16"),
    ("traveller_motion.tube_diameter", "mm", 20.44, "20.6 - 3.2 x 10 / 200"),
    ("traveller_motion.lag_on_cop", "rpm", 182.24, "16 000 / (776.300 x pi x 0.036)"),
    ("traveller_motion.lag_on_tube", "rpm", 320.97, "16 000 / (776.300 x pi x 0.02044)"),
    ("traveller_motion.speed_on_cop", "m/s", 33.129, "pi x 0.040 x (16 000 - 182.24) / 60"),
    ("traveller_motion.missing_twist_on_cop", "t/m", 8.842, "1 / (pi x 0.036)"),
    ("traveller_motion.missing_twist_on_tube", "t/m", 15.573, "1 / (pi x 0.02044)"),
    ("order.exact_frames", "1", 7.4686, "20 000 / (22.3155 x 120)"),
    ("order.frames", "1", 8, "the next whole number"),
    ("order.time_taken", "h", 112.03, "20 000 / (22.3155 x 8)"),
    ("order.roving_bobbins", "1", 15384.6, "20 000 / 1.3"),
]


@pytest.mark.parametrize(("place", "unit", "value", "sum_"), BY_HAND, ids=[f"{row[0]}, {row[1]}" for row in BY_HAND])
def test_the_plan_of_the_demonstration_agrees_with_a_pocket_calculator(place, unit, value, sum_):
    figure = figures_of(plan_of())[place]
    assert in_unit(figure.value, figure.quantity, unit) == pytest.approx(value, rel=1e-4), sum_


def test_the_usual_travellers_are_those_of_the_printed_row():
    # Baraiya 2016, 30 Ne, printed as 19.7 tex where 590.541 / 30 is 19.685: 35.5 to 56 mg to the table's own rounding
    motion = plan_of().traveller_motion
    assert motion.usual_lightest.value == pytest.approx(35.5e-6, rel=2e-3)
    assert motion.usual_heaviest.value == pytest.approx(56e-6, rel=2e-3)


def test_the_doff_takes_its_yarn_at_the_mean_speed():
    # 15816.4 turns a minute put 776.300 turns in each metre: 20.3741 m a minute. Mass over length is the count.
    doff = plan_of().doff
    assert doff.spinning_time.value / 60 == pytest.approx(doff.yarn_length.value / 20.3741, rel=1e-4)
    assert doff.content.value * 1e6 / doff.yarn_length.value == pytest.approx(19.6847, rel=1e-5)
    assert doff.time_with_stops.value * 0.92 == pytest.approx(doff.spinning_time.value)
    assert doff.per_shift.value == pytest.approx(8 * 3600 / doff.time_with_stops.value)


@pytest.mark.parametrize(("frame", "yarn"), SETTINGS)
def test_every_setting_of_the_demonstration_has_a_plan_of_finite_figures(frame, yarn):
    plan = plan_of(frame, yarn)
    for place, figure in figures_of(plan).items():
        assert math.isfinite(figure.value), place
        assert figure.origin in ORIGINS, place
        assert all(key in bibliography() for key in figure.sources), place
    assert all(note.endswith((".", ")")) and note[0].isupper() for note in plan.notes)


@pytest.mark.parametrize(("frame", "yarn"), SETTINGS)
def test_what_the_creel_gives_the_spindles_make(frame, yarn):
    plan = plan_of(frame, yarn)
    supply, made, doff = plan.roving_supply, plan.production, plan.doff
    fed = supply.feed_speed.value * plan.draft.roving_count.value * made.efficiency.value
    assert fed == pytest.approx(made.per_spindle.value, rel=1e-9)
    assert supply.run_out_time.value * supply.consumption.value == pytest.approx(supply.bobbin_mass.value)
    in_a_shift = supply.bobbins_per_shift.value * supply.bobbin_mass.value
    assert in_a_shift == pytest.approx(made.per_frame_shift.value)
    doffed = doff.content.value * made.spindles.value * doff.per_shift.value
    assert doffed == pytest.approx(made.per_frame_shift.value)


@pytest.mark.parametrize(("frame", "yarn"), SETTINGS)
def test_the_frames_of_an_order_are_just_enough(frame, yarn):
    plan = plan_of(frame, yarn)
    frames, rate = plan.order.frames.value, plan.production.per_frame.value
    assert rate * frames * 120 * 3600 >= 20_000 * (1 - 1e-9)
    assert rate * (frames - 1) * 120 * 3600 < 20_000
    assert plan.order.roving_bobbins.value * plan.roving_supply.bobbin_mass.value == pytest.approx(20_000)


def test_a_figure_tells_the_origin_and_note_of_the_mill():
    efficiency = plan_of().production.efficiency
    assert (efficiency.origin, efficiency.note) == (
        "common practice",
        "F1-AV30K, efficiency: 90 % to 93 %, from memory",
    )
    assert plan_of().twist.count.origin == "measured"
    assert plan_of().twist.twist.origin == "computed"
    assert plan_of().order.mass.origin == "stated"
    assert plan_of("F1", "AV40B").fibres.fewest.origin == "assumed"  # no figure is printed for blends


def test_no_order_no_frames_for_it():
    assert spin_plan(MILL, "F1", "AV30K").order is None


@pytest.mark.parametrize(("mass", "time", "told"), [(0, 3600, ["mass"]), (-1, 0, ["mass", "time"]), (1, 1e9, ["time"])])
def test_an_order_out_of_range_is_refused_with_every_fault(mass, time, told):
    with pytest.raises(Refusal) as refused:
        Order(mass=mass, time=time)
    assert [next(word for word in told if word in fault.where) for fault in refused.value.faults] == told


def test_a_multiplier_outside_the_formula_for_contraction_is_told():
    assert "outside 3 to 5 TM" in notes_of(a_mill(yarn={"twist_multiplier": 2.9 * 0.9567344}))  # 1 TM = 0.95673 SI
    assert "contraction" not in notes_of(MILL)


def test_a_blend_is_told_that_the_formula_is_for_cotton():
    assert any("is for cotton, and AV40B is a blend" in note for note in plan_of("F1", "AV40B").notes)


def test_too_few_fibres_are_told_with_the_finest_count():
    # 8 dtex fibres: 19.6847 / 0.8 = 24.6 fibres where 33 are needed; 33 x 0.8 = 26.4 tex
    coarse = MILL.yarns["AV30K"].fibres[0].model_copy(update={"fineness": 0.8e-6})
    told = notes_of(a_mill(yarn={"fibres": (coarse,)}))
    assert "holds 25 fibres, fewer than the 33" in told
    assert "finer than 26.4 tex" in told


@pytest.mark.parametrize(
    ("mass", "told"), [(31.5e-6, "31.5 mg is lighter than the usual 35.5"), (71e-6, "71 mg is heavier")]
)
def test_a_traveller_outside_the_usual_masses_is_told(mass, told):
    traveller = MILL.travellers["T45"].model_copy(update={"mass": mass})
    assert told in notes_of(a_mill(travellers={"T45": traveller}))
    assert "lighter" not in notes_of(MILL)
    assert "heavier" not in notes_of(MILL)


@pytest.mark.parametrize("mass", [35.5e-6, 56e-6])
def test_the_lightest_and_heaviest_traveller_of_the_table_are_usual(mass):
    # Baraiya 2016, 30 Ne: 35.5 to 56 mg
    traveller = MILL.travellers["T45"].model_copy(update={"mass": mass})
    assert "er than the usual" not in notes_of(a_mill(travellers={"T45": traveller}))


def test_a_count_beyond_the_table_of_travellers_is_told():
    thick = {"count": 80e-6, "twist_multiplier": 7.6}
    roving = MILL.rovings["R07"].model_copy(update={"count": 2.9e-3})
    told = notes_of(a_mill(yarn=thick, rovings={"R07": roving}))
    assert "runs from 4.9 tex to 73.8 tex and does not reach 80 tex" in told


def test_speeds_above_the_limits_are_told_with_the_limits_source():
    limits = {name: MILL.limits[name].model_copy() for name in MILL.limits}
    limits["spindle_speed"] = limits["spindle_speed"].model_copy(update={"value": 15_900 * 2 * math.pi / 60})
    limits["traveller_speed"] = limits["traveller_speed"].model_copy(update={"value": 33.0})
    told = notes_of(a_mill(limits=limits))
    assert "main speed of 16 000 rpm lies above the mill's limit of 15 900 rpm (assumed: a house rule" in told
    assert "runs at 33.1 m/s on the full cop, above the limit of 33.0 m/s (common practice" in told
    assert "limit" not in notes_of(MILL)


def test_what_is_measured_needs_no_caution():
    origins = {key: text for key, text in F1.origins.items() if key not in {"drive.slip", "build.package_density"}}
    told = notes_of(a_mill(frame={"origins": origins}))
    assert "slip" not in told
    assert "package density" not in told
    assert "slip of 1 %, which is common practice" in notes_of(MILL)
    assert "density of 0.5 g/cm3, which is assumed" in notes_of(MILL)


def test_names_that_the_mill_does_not_have_are_told_together():
    with pytest.raises(Refusal) as refused:
        spin_plan(MILL, "F7", "AV30")
    assert len(refused.value.faults) == 2
    assert "Did you mean AV30K?" in str(refused.value)
