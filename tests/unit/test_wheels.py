"""Change wheels against every wheel tried one by one, straight from the mill's files."""

from __future__ import annotations

import math
import tomllib
from functools import cache

import pytest

from ringwright.mill import demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.plan import spin_plan

MILL = read_mill(demo_mill_path())
SETTINGS = [(setting.frame, setting.yarn) for setting in MILL.settings.values()]
TRAINS = ("total_draft", "break_draft", "twist")


@cache
def as_written(frame):
    text = (demo_mill_path() / f"frame_{frame.lower()}.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)["frame"][frame]


def number(text):
    return float(text.split()[0]) if isinstance(text, str) else float(text)


def turned(train, teeth):
    """Turns of the last shaft to one of the first."""
    turns = 1.0
    for driver, driven in train["pairs"]:
        turns *= (teeth if driver == "change" else driver) / (teeth if driven == "change" else driven)
    return turns


def given(frame, name, teeth):
    """What a wheel gives: a draft, or turns to a metre delivered; from the file's numbers, in mm and percent."""
    written = as_written(frame)
    drafting = written["drafting"]
    turns = turned(drafting["gearing"][name], teeth)
    front, middle, back = (number(drafting[f"{roller}_roller_diameter"]) for roller in ("front", "middle", "back"))
    if name == "total_draft":
        return turns * front / back
    if name == "break_draft":
        return 1 / turns * middle / back  # written from the middle roller to the back one
    spindle = number(written["drive"]["drum_diameter"]) / number(written["spindle"]["wharve_diameter"])
    return turns * spindle * (1 - number(written["drive"]["slip"]) / 100) / (math.pi * front / 1000)


def wheels_of(mill, frame="F1", yarn="AV30K"):
    """The wheels planned for a frame that has them."""
    wheels = spin_plan(mill, frame, yarn).wheels
    assert wheels is not None
    return wheels


def options(train):
    """The wheels shown for a train, small to large."""
    return [option for option in (train.smaller, train.best, train.larger) if option is not None]


@pytest.mark.parametrize("name", TRAINS)
@pytest.mark.parametrize(("frame", "yarn"), SETTINGS)
def test_the_wheel_is_the_nearest_of_all_and_its_neighbours_are_next_to_it(frame, yarn, name):
    plan = getattr(wheels_of(MILL, frame, yarn), name)
    wheels = sorted(as_written(frame)["drafting"]["gearing"][name]["wheels"])
    nearest = min(wheels, key=lambda teeth: abs(given(frame, name, teeth) / plan.wanted.value - 1))
    at = wheels.index(nearest)
    assert plan.best.teeth.value == nearest
    assert plan.smaller.teeth.value == wheels[at - 1]
    assert plan.larger.teeth.value == wheels[at + 1]
    for option in options(plan):
        assert option.gives.value == pytest.approx(given(frame, name, option.teeth.value), rel=1e-12)
    assert given(frame, name, plan.exact_teeth.value) == pytest.approx(plan.wanted.value, rel=1e-12)


@pytest.mark.parametrize(("frame", "yarn"), SETTINGS)
def test_the_errors_are_those_of_the_yarn_that_the_wheels_really_give(frame, yarn):
    plan, wheels = spin_plan(MILL, frame, yarn), wheels_of(MILL, frame, yarn)
    drafts, twists = (options(train) for train in (wheels.total_draft, wheels.twist))
    written = tomllib.loads((demo_mill_path() / "yarns.toml").read_text(encoding="utf-8"))["yarn"][yarn]
    roving = tomllib.loads((demo_mill_path() / "rovings.toml").read_text(encoding="utf-8"))["roving"][plan.roving]
    english, multiplier = number(written["count"]), number(written["twist_multiplier"])
    left = 1 - (2.67 * multiplier - 4.93) / 100
    for option in drafts:
        really = number(roving["count"]) * given(frame, "total_draft", option.teeth.value) * left  # Ne
        assert 590.541e-6 / option.makes.value == pytest.approx(really, rel=1e-6)
        assert option.error.value == pytest.approx(english / really - 1, rel=1e-6)
    for option in twists:
        really = given(frame, "twist", option.teeth.value) / left
        wanted = multiplier * math.sqrt(english) / 0.0254
        assert option.makes.value == pytest.approx(really, rel=1e-9)
        assert option.difference.value == pytest.approx(really - wanted, rel=1e-6)


def test_the_three_wheels_together_give_the_real_yarn_by_hand():
    # F1, AV30K. Draft wheel 90: 4 x 4 x 90 / 32 = 45, and 0.70 x 45 x 0.95318 = 30.0252 Ne.
    # Break wheel 38: 38 / 32 = 1.1875; main 45 / 1.1875 = 37.8947.
    # Twist wheel 97: 110/40 x 100/44 x 98/97 x 10 x 0.99 / (pi x 0.027) = 736.980; / 0.95318 = 773.181 t/m.
    # TM 773.181 x 0.0254 / root 30.0252 = 3.58403. Made: 776.300 / 773.181 x 30 / 30.0252 = 1.00319 of the plan.
    real = wheels_of(MILL).as_geared
    assert 590.541e-6 / real.count.value == pytest.approx(30.0252, rel=1e-5)
    assert real.twist.value == pytest.approx(773.181, rel=1e-5)
    assert real.multiplier.value / 0.95673443 == pytest.approx(3.58403, rel=1e-5)
    assert real.total_draft.value == pytest.approx(45)
    assert real.break_draft.value == pytest.approx(1.1875)
    assert real.main_draft.value == pytest.approx(37.8947, rel=1e-5)
    assert real.production_change.value == pytest.approx(0.00319, abs=1e-5)


def gearing_of(frame):
    """The gearing of a frame that has one."""
    assert frame.drafting.gearing is not None
    return frame.drafting.gearing


def with_wheels(**wheels):
    """The demonstration mill whose F1 has only these change wheels."""
    frame = MILL.frames["F1"]
    gearing = gearing_of(frame)
    trains = {name: getattr(gearing, name).model_copy(update={"wheels": few}) for name, few in wheels.items()}
    drafting = frame.drafting.model_copy(update={"gearing": gearing.model_copy(update=trains)})
    return MILL.model_copy(update={"frames": {"F1": frame.model_copy(update={"drafting": drafting})}})


def test_a_draft_out_of_reach_is_refused_with_the_range_that_can_be_reached():
    # wheels 60 and 80 give drafts of 30 and 40; 44.96 would need 89.9 teeth
    with pytest.raises(Refusal) as refused:
        spin_plan(with_wheels(total_draft=(60, 80)), "F1", "AV30K")
    told = str(refused.value)
    assert "the total draft wanted of frame F1 is 44.96" in told
    assert "from 30 (change wheel 60 T) to 40 (change wheel 80 T)" in told
    assert "89.9 teeth" in told


def test_all_trains_that_cannot_reach_are_told_together():
    with pytest.raises(Refusal) as refused:
        spin_plan(with_wheels(total_draft=(60,), break_draft=(44,), twist=(120, 130)), "F1", "AV30K")
    told = [fault.where for fault in refused.value.faults]
    assert [next(name for name in ("total draft", "break draft", "twist") if name in where) for where in told] == [
        "total draft",
        "break draft",
        "twist",
    ]


def test_the_last_wheel_of_a_list_has_one_neighbour_only():
    wheels = wheels_of(with_wheels(total_draft=(88, 90))).total_draft
    assert [option.teeth.value for option in options(wheels)] == [88, 90]
    assert wheels.larger is None


def test_a_further_fixed_ratio_counts_in_every_train():
    # A back roller of half the diameter that turns twice as fast, and a drum of half the diameter likewise, change
    # nothing; so the wheels must stay as they are.
    frame = MILL.frames["F1"]
    gearing = gearing_of(frame)
    ratios = {"total_draft": 0.5, "break_draft": 2.0, "twist": 2.0}
    trains = {name: getattr(gearing, name).model_copy(update={"fixed_ratio": ratio}) for name, ratio in ratios.items()}
    halved = {"gearing": gearing.model_copy(update=trains), "back_roller_diameter": 0.0135}
    drafting = frame.drafting.model_copy(update=halved)
    drive = frame.drive.model_copy(update={"drum_diameter": 0.095})
    changed = frame.model_copy(update={"drafting": drafting, "drive": drive})
    wheels = wheels_of(MILL.model_copy(update={"frames": {"F1": changed}}))
    assert [getattr(wheels, name).best.teeth.value for name in TRAINS] == [90, 38, 97]
    assert wheels.as_geared.total_draft.value == pytest.approx(45)
    assert wheels.as_geared.break_draft.value == pytest.approx(1.1875)
    assert wheels.as_geared.twist.value == pytest.approx(773.181, rel=1e-5)


def test_spindles_driven_by_the_train_itself_need_no_drum():
    # Without a drum the last shaft is the spindle: a further ratio of 10 stands for drum over wharve, 190 / 19.
    frame = MILL.frames["F1"]
    gearing = gearing_of(frame)
    twist = gearing.twist.model_copy(update={"fixed_ratio": 10.0})
    drafting = frame.drafting.model_copy(update={"gearing": gearing.model_copy(update={"twist": twist})})
    drive = frame.drive.model_copy(update={"drum_diameter": None})
    changed = frame.model_copy(update={"drafting": drafting, "drive": drive})
    wheels = wheels_of(MILL.model_copy(update={"frames": {"F1": changed}}))
    assert wheels.twist.best.teeth.value == 97
