"""The creel of a frame: supply, brake band, renewals and the week, and what every door says of them."""

import json
import xml.etree.ElementTree as ET
from math import isnan

import pytest

from ringwright.creel.card import card_line
from ringwright.creel.renewal import renewal_plan
from ringwright.creel.supply import supply_of
from ringwright.creel.unwound import TriedCreel, unwound
from ringwright.creel.week import TriedWeek, week
from ringwright.judgement.cautions import RULES_FIRST
from ringwright.lessons.catalogue import LESSONS
from ringwright.lessons.creel_brake import bobbin_of
from ringwright.lessons.ground import Ground
from ringwright.mill import demo_mill_path, read_mill
from ringwright.mill.creel import Creel, Creeling
from ringwright.refusal import Refusal
from ringwright.report.number import Number
from ringwright.setting.plan import spin_plan
from ringwright.units import from_unit
from ringwright.verbs.creeling import AskedCreel, creel_sheet
from ringwright.verbs.tasking import _facts, _with_creels
from ringwright.workbench.parts.catalogue import PARTS, sheet_of
from ringwright.worklist.task import WorkList

MILLINEWTON_METRE = 1e-3


@pytest.fixture(scope="module")
def mill():
    return read_mill(demo_mill_path())


def with_creel(mill, name="F1", **values):
    frame = mill.frames[name]
    changed = frame.model_copy(update={"creel": frame.creel.model_copy(update=values)})
    return mill.model_copy(update={"frames": mill.frames | {name: changed}})


def with_roving(mill, name="R07", **values):
    return mill.model_copy(update={"rovings": mill.rovings | {name: mill.rovings[name].model_copy(update=values)}})


# Supply


def test_the_supply_is_that_of_the_spin_plan(mill):
    supply, plan = supply_of(mill, "F1", "AV30K"), spin_plan(mill, "F1", "AV30K")
    assert supply.run_out == pytest.approx(plan.roving_supply.run_out_time.value)
    quicker = plan.speeds.main.spindle.value / plan.speeds.mean.spindle.value
    assert supply.feed_speed == pytest.approx(plan.roving_supply.feed_speed.value * quicker)
    # What is drawn in one doff is the cop's yarn.
    assert supply.per_doff == pytest.approx(plan.doff.content.value)


def test_two_rovings_to_a_spindle_each_run_half_as_fast_and_last_twice_as_long(mill):
    one, two = supply_of(mill, "F1", "AV30K"), supply_of(with_creel(mill, bobbins_per_spindle=2), "F1", "AV30K")
    assert two.feed_speed == pytest.approx(one.feed_speed / 2)
    assert two.run_out == pytest.approx(2 * one.run_out)
    assert (two.bobbins, one.bobbins) == (2016, 1008)


# The brake


@pytest.mark.parametrize(("frame", "yarn"), [("F1", "AV30K"), ("F3", "AV20W"), ("F4", "AV60C")])
def test_at_the_ends_of_its_band_the_brake_takes_all_that_is_allowed(mill, frame, yarn):
    band = unwound(mill, frame, yarn).band
    assert unwound(mill, frame, yarn, TriedCreel(brake_torque=band.highest)).drawn == pytest.approx(1, rel=1e-6)
    assert unwound(mill, frame, yarn, TriedCreel(brake_torque=band.lowest)).runs_on == pytest.approx(1, rel=1e-6)


def test_the_demonstration_has_a_brake_too_hard_one_too_free_and_one_that_is_right(mill):
    right, hard, free = (unwound(mill, *one) for one in (("F1", "AV30K"), ("F3", "AV30K"), ("F4", "AV40B")))
    assert right.band.holds(right.brake)
    assert hard.band.highest is not None
    assert hard.brake > hard.band.highest
    assert free.brake < free.band.lowest


def test_where_slack_is_what_binds_the_lowest_brake_lets_go_just_that(mill):
    quick = with_creel(mill, stop_time=0.05, bearing_friction=0.001, disturbing_torque=0.0, slack_allowed=2e-3)
    band = unwound(quick, "F1", "AV30K").band
    assert band.lowest_by == "slack at a stop"
    there = unwound(quick, "F1", "AV30K", TriedCreel(brake_torque=band.lowest))
    assert there.slack.max() == pytest.approx(2e-3, rel=1e-6)


def test_less_twist_narrows_the_band_until_no_brake_suits(mill):
    highest = [
        unwound(mill, "F1", "AV30K", TriedCreel(roving_twist=from_unit(tm, "twist multiplier", "TM"))).band.highest
        or 0.0
        for tm in (1.4, 1.2, 1.0, 0.8)
    ]
    assert highest == sorted(highest, reverse=True)
    loose = TriedCreel(roving_twist=from_unit(0.5, "twist multiplier", "TM"))
    assert unwound(with_creel(mill, disturbing_torque=5e-3), "F1", "AV30K", loose).band.empty


def test_a_reading_of_the_mill_takes_the_place_of_the_estimate(mill):
    read, guessed = unwound(mill, "F1", "AV30K"), unwound(with_roving(mill, cohesion=None), "F1", "AV30K")
    assert read.measured
    assert not guessed.measured
    # 0.40 cN/tex of 0.70 hank: 590.54 / 0.7 = 843.6 tex
    assert read.cohesion == pytest.approx(0.40e-2 * 843.6, rel=1e-3)
    # With another twist the reading moves as the estimate does.
    more = TriedCreel(roving_twist=from_unit(1.3, "twist multiplier", "TM"))
    ratio = unwound(with_roving(mill, cohesion=None), "F1", "AV30K", more).cohesion / guessed.cohesion
    assert unwound(mill, "F1", "AV30K", more).cohesion == pytest.approx(read.cohesion * ratio)


def test_a_roving_that_slips_is_told_in_words(mill):
    weak = with_roving(mill, cohesion=from_unit(0.02, "tenacity", "cN/tex"))
    sheet = creel_sheet(weak, "F3", "AV30K", AskedCreel())
    assert any("slips apart" in words for words in sheet.warnings)
    assert "Even without a brake" in sheet.answer


def test_a_mass_that_does_not_fit_the_bobbin_is_doubted(mill):
    sheet = creel_sheet(with_creel(mill, full_diameter=0.090), "F1", "AV30K", AskedCreel())
    assert any("so one of them is likely wrong" in words for words in sheet.warnings)


# Renewals


@pytest.mark.parametrize(("frame", "yarn"), [("F1", "AV30K"), ("F3", "AV20W"), ("F4", "AV60C")])
def test_every_spindle_is_in_one_group_and_groups_are_even(mill, frame, yarn):
    plan = renewal_plan(supply_of(mill, frame, yarn), mill.creeling, mill.shift_length)
    assert [one.first for one in plan.groups] == [1, *(one.last + 1 for one in plan.groups[:-1])]
    assert plan.groups[-1].last == 1008
    assert {one.doff for one in plan.groups} == set(range(plan.cycle))
    sizes = [one.spindles for one in plan.groups]
    assert max(sizes) - min(sizes) <= 1


def test_the_plan_by_hand(mill):
    supply = supply_of(mill, "F1", "AV30K")
    plan = renewal_plan(supply, mill.creeling, mill.shift_length)
    # 1.3 kg less 3 % is 1.261 kg; a doff takes 52.3 g: 24 doffs of it, and 1.3 - 24 x 0.0523 kg are left.
    assert supply.per_doff == pytest.approx(0.0523, abs=1e-4)
    assert plan.cycle == 24
    assert plan.remnant == pytest.approx(1.3 - 24 * supply.per_doff)
    # In a shift of 8 h: 1008 bobbins in 24 doffs of 2.362 h.
    assert plan.to_renew == pytest.approx(1008 * 8 / (24 * 2.362), rel=1e-3)
    assert plan.work == pytest.approx(30 * plan.to_renew)
    assert plan.trips == pytest.approx(plan.to_renew / 96)


def test_a_bobbin_that_lasts_less_than_one_doff_is_refused_with_a_mend(mill):
    with pytest.raises(Refusal, match=r"roving\.R07\.bobbin_mass .* Use fuller bobbins, or doff smaller cops"):
        week(with_roving(mill, bobbin_mass=0.04), "F1", "AV30K")


# The week


@pytest.fixture(scope="module")
def staggered(mill):
    return week(mill, "F1", "AV30K")


def test_in_the_week_as_many_bobbins_are_renewed_as_are_used(mill, staggered):
    for one in staggered.frames:
        used = one.plan.to_renew * staggered.log.horizon / mill.shift_length
        assert one.renewed == pytest.approx(used, rel=0.03)
        assert one.stripped == pytest.approx(one.renewed * one.plan.remnant, rel=0.4)


def test_the_shifts_hold_all_work_renewals_and_trips(staggered):
    assert len(staggered.shifts) == 18
    assert sum(one.renewed for one in staggered.shifts) == sum(one.renewed for one in staggered.frames)
    assert sum(one.trips for one in staggered.shifts) == len(staggered.log.trips)
    worked = sum(done - begun for begun, done in staggered.log.work)
    assert sum(one.work for one in staggered.shifts) == pytest.approx(worked)
    # On average the hands are taken as much as the plans ask for.
    taken = sum(one.work for one in staggered.shifts) / sum(one.available for one in staggered.shifts)
    assert taken == pytest.approx(staggered.need, rel=0.03)


def test_renewing_a_creel_at_once_lets_spindles_stand_and_staggering_does_not(mill, staggered):
    at_once = week(mill, "F1", "AV30K", TriedWeek(renewal="at once"))
    stood = [sum(one.stood for one in run.frames) for run in (staggered, at_once)]
    assert stood[1] > 1000 * stood[0]
    assert at_once.first_frame
    # Nothing falls due before a bobbin's life is over, and then more work than a hand has time for.
    assert at_once.shifts[0].work == 0
    assert max(one.work / one.available for one in at_once.shifts) > 0.97


def test_with_hands_enough_and_a_larger_reserve_no_bobbin_runs_empty(mill):
    creeling = mill.creeling.model_copy(update={"renewal_reserve": 0.06})
    run = week(mill.model_copy(update={"creeling": creeling}), "F1", "AV30K", TriedWeek(creelers=2))
    assert isnan(run.first_empty)
    assert not any(one.empty for one in run.frames)


@pytest.mark.parametrize(("tried", "told"), [({"creelers": 0}, "number of creelers is 0"), ({"carts": 500}, "carts")])
def test_a_number_of_hands_or_carts_out_of_range_is_refused(mill, tried, told):
    with pytest.raises(Refusal, match=told):
        week(mill, "F1", "AV30K", TriedWeek(**tried))


# Keys


@pytest.mark.parametrize(
    ("table", "values", "told"),
    [
        (Creel, {"full_diameter": "70 mm", "empty_diameter": "80 mm"}, "full_diameter is 70"),
        (Creel, {"brake_torque": "2"}, "without a unit"),
        (Creel, {"brake_torque": "9 N m"}, "from 0"),
        (Creeling, {"cart_size": 300}, "cart_size is 300"),
    ],
)
def test_a_creel_that_cannot_be_is_refused(table, values, told):
    with pytest.raises(ValueError, match=told):
        table(**values)


# Doors


def test_the_command_tells_band_renewals_and_safety(run):
    status, said, errors = run("creel", "demo", "--frame", "F3", "--yarn", "AV20W")
    assert status == 0, errors
    assert "The brake of 4.00\u202fmN m is" in said
    assert "over its band" in said
    assert "955 to 1008" in said
    assert "our estimate" in said
    assert RULES_FIRST in " ".join(said.split())


def test_the_command_runs_a_week_as_json_and_writes_the_sheet(run, tmp_path):
    status, said, errors = run(
        "creel", "demo", "--frame", "F1", "--yarn", "AV30K", "--week", "--creelers", "2", "--json",
        "--out", str(tmp_path),
    )  # fmt: skip
    assert status == 0, errors
    told = json.loads(said)
    brake = next(row for row in told["rows"] if row["name"] == "Brake on the hanging bobbin")
    assert (brake["si"], brake["unit"], brake["origin"]) == (1e-3, "mN m", "measured")
    assert [len(table["rows"]) for table in told["tables"]] == [24, 4, 18]
    assert len(list(tmp_path.glob("*.svg"))) == 3
    for figure in tmp_path.glob("*.svg"):
        ET.parse(figure)  # noqa: S314 - it is our own figure
    assert next(tmp_path.glob("*.pdf")).read_bytes().startswith(b"%PDF")


def test_every_wrong_word_is_told_together(run):
    status, _, errors = run(
        "creel", "demo", "--frame", "F1", "--yarn", "AV30K", "--brake", "lots", "--roving-twist", "3 kg",
        "--creelers", "two",
    )  # fmt: skip
    assert status == 1
    assert 'the brake is "lots"; it must be a torque' in errors
    assert "the roving's twist" in errors
    assert 'the number of creelers is "two"' in errors


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--frame", "F9", "--yarn", "AV30K"), "frame"),
        (("--frame", "F1", "--yarn", "AV30K", "--brake", "900 mN m"), "it must be from 0"),
        (("--frame", "F1", "--yarn", "AV30K", "--roving-twist", "9 TM"), "it must be from 0.4"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(run, words, told):
    status, _, errors = run("creel", "demo", *words)
    assert status == 1
    assert told in errors


def test_the_page_answers_as_the_command_and_takes_an_untouched_field_as_the_mills(mill):
    part = PARTS["creel"]
    starts = {field.key: field.start(mill, "F3", "AV20W") for field in part.fields}
    assert sheet_of("creel", mill, "F3", "AV20W", starts) == creel_sheet(mill, "F3", "AV20W", AskedCreel())
    tried = sheet_of("creel", mill, "F3", "AV20W", starts | {"brake": "2 mN m", "week": "run a week", "carts": "2"})
    assert tried.rows[0].origin == "assumed, tried here"
    assert "lies in its band" in tried.answer
    assert len(tried.pictures) == 3


def test_the_card_has_one_short_line(mill):
    line = card_line(mill, "F1", "AV30K")
    assert line.startswith("Creel brake 1.00")
    assert line.endswith("42 bobbins a doff")
    assert "outside" not in line
    assert "outside" in card_line(mill, "F3", "AV20W")


def test_the_work_list_asks_for_brakes_and_renewals_with_their_cautions(mill):
    facts = {name: _facts(mill, name) for name in mill.frames}
    empty = WorkList(tasks=(), missing=(), always=())
    tasks = {one.key: one for one in _with_creels(mill, list(mill.frames), facts, empty).tasks}
    assert set(tasks) == {"F3-creel-brake", "F4-creel-brake", "creel-renewals"}
    assert "F1 42 (142 a shift)" in tasks["creel-renewals"].what
    assert all(one.cautions and one.evidence for one in tasks.values())


def test_a_brake_that_only_an_estimate_calls_too_hard_is_no_task(mill):
    guessed = with_roving(mill, cohesion=None)
    facts = {name: _facts(guessed, name) for name in ("F3",)}
    work = _with_creels(guessed, ["F3"], facts, WorkList(tasks=(), missing=(), always=()))
    assert [one.key for one in work.tasks] == ["creel-renewals"]
    assert any("its cohesion is missing" in words for words in work.missing)


def test_the_lesson_crosses_what_is_allowed_at_both_ends_of_the_band(mill):
    ground = Ground(mill=mill, frame="F1", yarn="AV30K")
    band = bobbin_of(ground, 1e-3).band
    assert band.highest is not None
    for brake, side in ((0.9 * band.lowest, "runs_on"), (1.1 * band.highest, "drawn")):
        assert getattr(bobbin_of(ground, brake), side) > 1
    shown = LESSONS["creel-brake"].answer(ground, 2 * MILLINEWTON_METRE)
    rows = {row.name: row for row in shown.rows}
    pulled = rows["Tension, even running, empty bobbin"]
    assert isinstance(pulled.moved, Number)
    assert isinstance(pulled.other, Number)
    assert pulled.moved.value > pulled.other.value


def test_beginning_from_a_creel_hung_at_once_takes_off_about_half_of_it(mill):
    plan = renewal_plan(supply_of(mill, "F1", "AV30K"), mill.creeling, mill.shift_length)
    # 24 groups of 42, renewed after 1 to 24 doffs of 52.3 g: on average 12.5 of them are gone.
    assert plan.first_round == pytest.approx(1008 * (1.3 - 12.5 * plan.supply.per_doff))


def test_full_shifts_are_those_in_which_hands_have_no_time_left(mill, staggered):
    assert staggered.full_shifts == ()
    at_once = week(mill, "F1", "AV30K", TriedWeek(renewal="at once"))
    assert at_once.full_shifts
    assert all(at_once.shifts[k - 1].work > 0.95 * 8 * 3600 for k in at_once.full_shifts)


def test_with_half_the_cohesion_a_band_that_count_sets_ends_at_half_the_holding_torque(mill):
    whole, half = (unwound(mill, "F3", "AV20W", TriedCreel(cohesion=factor)).band.highest for factor in (1.0, 0.5))
    creel = mill.frames["F3"].creel
    # The count changes most at the empty bobbin, where the bearing bears the tube alone.
    bearing = creel.bearing_friction * 0.25 * 9.80665 * creel.bearing_diameter / 2
    assert whole is not None
    assert half is not None
    assert (half + bearing) / (whole + bearing) == pytest.approx(0.5, rel=1e-6)


def test_the_store_is_told_at_its_lowest(mill):
    slow = mill.creeling.model_copy(update={"floor_store": 100, "cart_size": 50, "trip_time": 3600.0})
    run = week(mill.model_copy(update={"creeling": slow}), "F1", "AV30K")
    assert run.log.lowest_store == 0
    assert run.for_bobbins > 0
    told = creel_sheet(mill, "F1", "AV30K", AskedCreel(week=True)).tables[-1].note
    assert "never fewer than" in told
