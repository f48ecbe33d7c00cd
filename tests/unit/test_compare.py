"""Two settings side by side: differences add up change by change, come largest first, and each has a reason."""

import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright
from ringwright.economy.compare import compare
from ringwright.economy.trying import read_trial
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.report.sheets.compare import compare_sheet
from ringwright.report.sheets.compare_reasons import WHY
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.setting.choice import AS_SET, Trial
from ringwright.setting.doff import solve_doff

MILL = read_mill(demo_mill_path())
A = ("F1", "AV30K", AS_SET)


def told_of(found):
    return " ".join(sheet_text(compare_sheet(found)).split())


def rows(found):
    return {row.name: row for row in found.rows}


@pytest.fixture(scope="module")
def tried():
    return compare(MILL, A, ("F1", "AV30K", read_trial("traveller=40mg, speed=17000 rpm, guide=fixed")))


@pytest.fixture(scope="module")
def frames():
    return compare(MILL, ("F1", "AV40B", AS_SET), ("F4", "AV40B", AS_SET))


def test_the_parts_of_the_changes_add_to_each_difference(tried, frames):
    for found in (tried, frames):
        for row in found.rows:
            assert sum(row.steps) == pytest.approx(row.b - row.a, rel=1e-9, abs=1e-12)


def test_the_largest_difference_comes_first(tried, frames):
    for found in (tried, frames):
        sizes = [row.relative for row in found.rows]
        assert sizes == sorted(sizes, reverse=True)


def test_the_changes_are_those_tried_and_no_others(tried, frames):
    assert [change.kind for change in tried.changes] == ["guide", "traveller", "speed"]
    assert [change.kind for change in frames.changes] == ["frame", "traveller", "speed"]


def test_speed_alone_moves_tension_by_its_square_and_leaves_the_room():
    found = rows(compare(MILL, A, ("F1", "AV30K", Trial(main_speed=1.05 * MILL.settings["F1-AV30K"].main_speed))))
    for name in ("highest tension at the triangle", "mean tension at the triangle", "highest winding tension"):
        assert found[name].b == pytest.approx(1.05**2 * found[name].a, rel=1e-6)
    assert found["highest heat at the traveller"].b == pytest.approx(
        1.05**3 * found["highest heat at the traveller"].a, rel=1e-6
    )
    assert found["least room to the separator"].b == pytest.approx(found["least room to the separator"].a, rel=1e-6)
    assert found["yarn of one spindle"].b == pytest.approx(1.05 * found["yarn of one spindle"].a)


def test_the_second_side_is_the_doff_that_the_mill_itself_has(frames):
    alone = compare(MILL, ("F4", "AV40B", AS_SET), ("F1", "AV40B", AS_SET))
    there, back = rows(frames), rows(alone)
    for name in ("highest winding tension", "yarn on the cop", "power of one spindle"):
        assert there[name].b == pytest.approx(back[name].a)
        assert there[name].a == pytest.approx(back[name].b)


def test_other_yarns_are_compared_without_breaks_and_cost_and_it_is_said():
    found = compare(MILL, A, ("F1", "AV40B", AS_SET))
    assert not {name for name in rows(found) if "breaks" in name or "cost" in name}
    assert "the yarns differ" in told_of(found)
    assert found.changes[0].kind == "yarn"


def test_two_alike_are_refused():
    with pytest.raises(Refusal, match="the same as A"):
        compare(MILL, A, A)


def test_every_difference_is_told_with_a_reason(tried, frames):
    for found in (tried, frames):
        table = compare_sheet(found).tables[1]
        assert [row[0] for row in table.rows] == [row.name for row in found.rows if row.relative >= 0.002]
        assert all(under.endswith(".") for under in table.under)
        assert len(table.under) == len(table.rows)
    assert {"tension", "heat", "room", "breaks", "cost"} <= set(WHY)
    assert "all tensions grow with the square of speed" in told_of(tried)
    (picture,) = compare_sheet(tried).pictures
    assert "<svg" in picture.svg
    assert any("▀" in line for line in picture.letters)


def test_each_result_finds_its_own_reasons_and_not_those_of_another_word(tried):
    table = compare_sheet(tried).tables[1]
    whys = {row[0]: why for row, why in table.told()}
    assert "a high power of tension" in whys["breaks, times those of A"]
    assert "a high power of tension" not in whys["power of one spindle"]


def test_what_is_tried_is_read_from_one_line():
    found = read_trial("traveller = 35.5 mg, speed=17,000 rpm,guide=moving, control-ring=none, friction=0.12")
    assert found.traveller_mass == pytest.approx(35.5e-6)
    assert found.main_speed == pytest.approx(17000 * 3.141592653589793 / 30)
    assert (found.guide_fixed, found.control_ring, found.ring_friction) == (False, False, 0.12)
    assert read_trial("") == AS_SET


def test_all_faults_of_what_is_tried_are_told_at_once():
    with pytest.raises(Refusal) as refused:
        read_trial(
            "travller=40mg, speed=17000, guide=up, control-ring=44mm, friction=x, speed=16000 rpm, speed=15000 rpm"
        )
    told = [str(fault) for fault in refused.value.faults]
    assert len(told) == 6
    assert "Did you mean traveller" in told[0]
    assert "without a unit" in told[1]
    assert "fixed or moving" in told[2]
    assert "given twice" in told[5]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("energy demo --frame F1 --yarn AV30K", "drawn from the mains"),
        ("cost demo --frame F3 --yarn AV20W --rate 40", "pays best"),
        ("breaks demo --frame F1 --yarn AV30K --speed 16500rpm", "times those as set"),
        ("spread demo --frame F1 --yarn AV30K --doffs 64", "To be surer, measure"),
        ("calibrate demo demo --frame F1 --yarn AV30K --no-keep", "These readings cannot tell"),
        ("compare demo --frame F1 --yarn AV30K --with traveller=40mg", "largest difference first"),
    ],
)
def test_each_command_says_what_it_is_for(words, told):
    done = CliRunner().invoke(ringwright, words.split())
    assert done.exit_code == 0, done.output
    assert told in done.output
    assert max(len(line) for line in done.output.splitlines()) <= 130


def moved(**changes):
    """The demo mill with other parts on F1."""
    frame = MILL.frames["F1"].model_copy(update=changes)
    return MILL.model_copy(update={"frames": MILL.frames | {"F1": frame}})


def test_the_same_setting_of_two_mills_differs_by_the_parts_that_were_moved():
    frame = MILL.frames["F1"]
    assert frame.control_ring is not None
    other = moved(
        guide=frame.guide.model_copy(update={"height": frame.guide.height + 5e-3}),
        control_ring=frame.control_ring.model_copy(update={"height": frame.control_ring.height - 10e-3}),
    )
    found = compare(MILL, A, A, other)
    assert [change.kind for change in found.changes] == ["guide", "control ring"]
    alone = solve_doff(other, "F1", "AV30K")
    assert rows(found)["highest tension at the triangle"].b == pytest.approx(alone.forces.triangle_most.max(), rel=1e-9)
    told = told_of(found)
    assert "44 mm, 108 mm up" in told
    assert "44 mm, 98 mm up" in told


def test_a_frame_with_another_cop_is_a_change_of_the_frame():
    build = MILL.frames["F1"].build.model_copy(update={"cop_diameter": 35e-3})
    found = compare(MILL, A, A, moved(build=build))
    assert [change.kind for change in found.changes] == ["frame"]


def test_fitted_friction_is_a_change_of_its_own_and_leaves_breaks_and_cost_to_compare():
    yarn = MILL.yarns["AV30K"].model_copy(update={"traveller_friction": 0.25, "drag_coefficient": 1.2})
    ring = MILL.frames["F1"].ring.model_copy(update={"friction": 0.12})
    other = moved(ring=ring).model_copy(update={"yarns": MILL.yarns | {"AV30K": yarn}})
    found = compare(MILL, A, A, other)
    assert [change.kind for change in found.changes] == ["yarn friction and drag", "ring friction"]
    assert found.left_out == ""
    assert "yarn friction" in told_of(found)


def test_ring_friction_is_told_apart_from_the_frame_it_stands_on():
    ring = MILL.frames["F4"].ring.model_copy(update={"friction": 0.12})
    frame = MILL.frames["F4"].model_copy(update={"ring": ring})
    other = MILL.model_copy(update={"frames": MILL.frames | {"F4": frame}})
    found = compare(MILL, ("F1", "AV40B", AS_SET), ("F4", "AV40B", AS_SET), other)
    assert [change.kind for change in found.changes] == ["frame", "ring friction", "traveller", "speed"]


def test_another_efficiency_moves_the_yarn_made_and_no_force():
    setting = MILL.settings["F1-AV30K"].model_copy(update={"efficiency": 0.88})
    other = MILL.model_copy(update={"settings": MILL.settings | {"F1-AV30K": setting}})
    found = rows(compare(MILL, A, A, other))
    assert found["yarn of one spindle"].b == pytest.approx(88 / 92 * found["yarn of one spindle"].a)
    assert found["highest tension at the triangle"].relative == 0
