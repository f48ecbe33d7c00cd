"""A frame whose drafts and twist are set electronically: written without wheels, planned with values to set."""

import json
import shutil
from math import pi

import pytest

from ringwright.judgement import judge
from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.report.card_filling import CardParts, fill_card
from ringwright.setting.doff import solve_doff
from ringwright.setting.places import Sampling
from ringwright.setting.plan import spin_plan
from ringwright.setting.wheels import trains_of

RPM = 2 * pi / 60


def without_wheels(text, *, electronic=True):
    """F1's file with its gearing taken out, and the switch written."""
    head, _, rest = text.partition("# A train is written in pairs")
    _, mark, tail = rest.partition("[frame.F1.creel]")
    assert mark
    return f"{head}{'electronic = true' if electronic else ''}\n\n{mark}{tail}"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The demonstration mill with F1 set electronically."""
    place = tmp_path_factory.mktemp("mills") / "electronic"
    shutil.copytree(demo_mill_path(), place)
    file = place / "frame_f1.toml"
    file.write_text(without_wheels(file.read_text(encoding="utf-8")), encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def mill(folder):
    return read_mill(folder)


def test_the_values_to_set_by_hand(mill):
    plan = spin_plan(mill, "F1", "AV30K")
    assert plan.wheels is None
    values = plan.to_set
    assert values is not None
    # 3.6 x root 30 / 0.0254 = 776.3 t/m; contraction 2.67 x 3.6 - 4.93 = 4.682 %, so 740.0 t/m delivered. At 16 000
    # rpm the front rollers deliver 21.62 m/min: 21.62 / (pi x 0.027) = 254.9 rpm, a spindle of 62.77 turns for each.
    assert values.twist.value == pytest.approx(776.3, abs=0.1)
    assert values.delivered.value == pytest.approx(740.0, abs=0.1)
    assert values.front_roller.value / RPM == pytest.approx(254.9, abs=0.1)
    assert values.turns_of_spindle.value == pytest.approx(62.77, abs=0.01)
    # 30 / 0.70 / 0.95318 = 44.96; 44.96 / 1.18 = 38.10; 254.9 / 44.96 = 5.669 rpm of an equal back roller.
    assert values.total_draft.value == pytest.approx(44.96, abs=0.01)
    assert values.main_draft.value == pytest.approx(38.10, abs=0.01)
    assert values.back_roller.value / RPM == pytest.approx(5.669, abs=0.002)


def test_everything_but_the_wheels_is_planned_as_on_a_frame_with_wheels(mill):
    plan, usual = spin_plan(mill, "F1", "AV30K"), spin_plan(read_mill(demo_mill_path()), "F1", "AV30K")
    assert usual.to_set is None
    for part in ("twist", "draft", "speeds", "production", "doff", "roving_supply", "fibres", "traveller_motion"):
        assert getattr(plan, part) == getattr(usual, part)


def test_the_plan_tells_the_values_and_no_wheels(run, folder):
    status, said, errors = run("plan", str(folder), "--frame", "F1", "--yarn", "AV30K")
    assert status == 0, errors
    assert "Values to set, no change wheels" in said
    assert "Change wheels" not in said
    assert "Front roller at main speed                254.9 rpm" in said
    assert "must take off the slip" in " ".join(said.split())
    assert "stand clear at the first start" in " ".join(said.split())
    values = json.loads(run("plan", str(folder), "--frame", "F1", "--yarn", "AV30K", "--json")[1])["values"]
    assert values["to_set.total_draft"] == pytest.approx(44.96, abs=0.01)
    assert not any(key.startswith("wheels") for key in values)


def test_the_card_has_the_values_in_place_of_wheels(mill):
    parts = CardParts(
        mill=mill, plan=spin_plan(mill, "F1", "AV30K"), judgement=judge(mill, "F1", "AV30K"), limit=None,
        doff=solve_doff(mill, "F1", "AV30K", sampling=Sampling(strokes=8, places=5)),
    )  # fmt: skip
    card = fill_card(parts)
    assert not card.wheels
    assert {"Break draft to set", "Front roller, main speed"} <= {row.name for row in card.settings}
    assert "Drafts and twist set as on this card" in card.checks


def test_wheels_asked_of_such_a_frame_are_refused(mill):
    with pytest.raises(Refusal, match="set electronically"):
        trains_of(mill.frames["F1"])


def test_a_frame_with_neither_is_refused_with_the_mend(tmp_path):
    shutil.copytree(demo_mill_path(), tmp_path / "mill")
    file = tmp_path / "mill" / "frame_f1.toml"
    file.write_text(without_wheels(file.read_text(encoding="utf-8"), electronic=False), encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        read_mill(tmp_path / "mill")
    told = str(refused.value)
    assert "frame.F1.drafting.gearing" in told
    assert "Write electronic = true" in told
    assert "frame_f1.toml" in told


def test_a_frame_with_both_is_refused_with_the_mend(tmp_path):
    shutil.copytree(demo_mill_path(), tmp_path / "mill")
    file = tmp_path / "mill" / "frame_f1.toml"
    text = file.read_text(encoding="utf-8").replace(
        "# A train is written", "electronic = true\n# A train is written", 1
    )
    file.write_text(text, encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        read_mill(tmp_path / "mill")
    told = str(refused.value)
    assert "frame.F1.drafting.electronic is true beside a gearing" in told
    assert "Delete the tables of the gearing" in told
