"""The search over the parts, against the doff, the judgement and exhaustive search."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.improve import search as searching
from ringwright.improve.answers import LEVELS
from ringwright.improve.asking import question_of, with_limits, with_reach
from ringwright.improve.better import Question, seek
from ringwright.improve.demand import demands, spun_doff
from ringwright.improve.front import AGAINST, least_at, mean_speed
from ringwright.improve.parts import Reach, axes_for, changes, fits, with_parts
from ringwright.improve.refused import refuse_none
from ringwright.improve.run import whole_doff
from ringwright.improve.search import Found, every_pick, search, try_picks
from ringwright.improve.tried import COARSE, SHAPES, bench_for, try_out
from ringwright.improve.watch import Watch
from ringwright.judgement import rooms
from ringwright.mill import TRAVELLER_MASSES, demo_mill_path, read_mill
from ringwright.refusal import Refusal
from ringwright.setting.choice import choose
from ringwright.setting.places import Sampling

MILL = read_mill(demo_mill_path())
CHOICE = choose(MILL, "F1", "AV30K")
FEW = Reach(
    control_ring_diameter=(-4e-3, 4e-3, 4e-3),
    control_ring_height=None,
    control_ring_lift=None,
    guide_height=(-10e-3, 10e-3, 5e-3),
    guide_lift=None,
)
"""Traveller, three control rings and five heights of the guide."""


@pytest.fixture(scope="module")
def bench():
    return bench_for(CHOICE, MILL.limits)


@pytest.fixture(scope="module")
def answer():
    return seek(Question(mill=MILL, frame="F1", yarn="AV30K", aim="tension", reach=FEW))


def test_a_candidate_tried_among_others_is_its_doff_solved_alone(bench):
    axes = axes_for(CHOICE, Reach())
    start = tuple(axis.present for axis in axes)
    moved = (start[0] - 1, start[1] + 1, start[2] + 2, start[3] - 1, start[4] + 3, start[5] - 1)
    tried = try_out(bench, [with_parts(CHOICE, axes, pick) for pick in (start, moved)])
    doff = whole_doff(MILL, with_parts(CHOICE, axes, moved), COARSE)
    alone = demands(spun_doff(doff), doff.choice.frame, doff.choice.yarn, MILL.limits)
    for number, demand in enumerate(alone):
        most = demand.per_speed.reshape(-1, COARSE.places).max(axis=1)
        assert tried.asks[number][1] == pytest.approx(most, rel=1e-7)
    room = doff.forces.separator_room.min() - MILL.limits["separator_room"].value
    assert tried.room[1, SHAPES.index("separator")] == pytest.approx(room, abs=1e-8)
    assert doff.choice.frame.guide.height == pytest.approx(CHOICE.frame.guide.height + 15e-3)


def test_the_traveller_goes_over_the_series_as_far_as_the_usual_masses_reach():
    others = ("control-ring-diameter", "control-ring-height", "control-ring-lift", "guide-height", "guide-lift")
    (axis,) = axes_for(CHOICE, Reach().keeping(others))
    # Baraiya 2016: 30 Ne cotton, 35.5 mg to 56 mg
    assert [round(1e6 * mass, 1) for mass in axis.steps] == [35.5, 40, 45, 50, 56]
    assert set(axis.steps) <= set(TRAVELLER_MASSES)


def test_a_guide_that_is_held_still_has_no_rise_to_search():
    still = CHOICE.setting.model_copy(update={"guide_fixed": True})
    held = replace(CHOICE, setting=still)
    assert "guide.lift" not in {axis.key for axis in axes_for(held, Reach())}


def test_the_front_is_that_of_exhaustive_search_on_a_reduced_space(bench):
    axes = axes_for(CHOICE, FEW)
    found = search(bench, axes)
    every = every_pick(bench, axes)
    whole = Found(axes=axes, picks=tuple(every), tried=try_picks(bench, axes, every), weights=bench.weights, ended="")
    assert len(found.picks) < len(every)
    most = whole.speed.max()
    assert found.speed.max() == pytest.approx(most, rel=1e-9)
    for level in LEVELS:
        for against in AGAINST.values():
            least = least_at(whole.tried, whole.weights, level * most, against).min()
            assert least_at(found.tried, found.weights, level * most, against).min() == pytest.approx(least, rel=1e-6)


def test_the_least_tension_at_a_production_is_reached_and_not_undercut(bench):
    tried = try_out(bench, [CHOICE])
    speed = 0.9 * float(mean_speed(tried.envelope(), bench.weights)[0])
    (least,) = least_at(tried, bench.weights, speed, AGAINST["tension"])
    ask = tried.ask("strength_share")

    def reached(tension):
        return mean_speed(np.minimum(tried.envelope(), np.sqrt(tension / ask)), bench.weights)[0]

    assert reached(least) == pytest.approx(speed, rel=1e-6)
    assert reached(0.999 * least) < speed


def test_every_candidate_tried_keeps_the_rules_of_the_frame(bench):
    axes = axes_for(CHOICE, Reach())
    found = search(bench, axes, most=150)
    assert all(fits(with_parts(CHOICE, axes, pick).frame) for pick in found.picks)
    assert len(found.picks) <= 150
    assert "the most that were asked for" in found.ended


def test_a_search_stopped_by_hand_gives_what_was_found_by_then(bench):
    told: list[str] = []
    watch = Watch(told.append, lambda: len(told) >= 1)
    found = search(bench, axes_for(CHOICE, Reach()), watch)
    assert found.ended == "it was stopped by hand"
    assert len(found.picks) == len(found.tried.room) > 1
    assert len(told) == 1


def test_progress_is_told_after_every_lot(bench):
    told: list[str] = []
    found = search(bench, axes_for(CHOICE, FEW), Watch(told.append))
    assert told[-1] == f"{len(found.picks)} candidates tried, {int(found.tried.keeps.sum())} keep every limit"


def test_the_answer_keeps_every_room_of_the_judgement_and_has_less_tension_for_the_same_yarn(answer):
    doff = whole_doff(MILL, answer.best.choice, Sampling(strokes=20, places=13))
    judged = [room for room in rooms(doff, MILL.limits) if room.room is not None]
    assert {"separator_room", "tube", "fold"} <= {room.key for room in judged}
    shapes = [room for room in judged if room.key in {"fold", "lift_off", "separator", "separator_room", "tube", "cop"}]
    assert min(room.room or 0.0 for room in shapes) > 0
    assert answer.best.production == pytest.approx(answer.as_set.production, rel=2e-3)
    assert answer.best.tension < 0.95 * answer.as_set.tension


def test_the_best_parts_beat_the_best_single_change_which_beats_the_parts_as_set(answer):
    # at the speed of comparison and over the same coarse doff; 1 % is given for changing fewer parts
    assert answer.singles[0].tension < answer.tension_with_parts_as_set
    assert answer.best.tension < 1.01 * answer.singles[0].tension
    assert len(answer.changed) <= len(answer.axes)


def test_a_front_falls_with_production_and_never_lies_above_the_parts_as_set(answer):
    for front in answer.fronts:
        least = [point.least for point in front.points]
        assert least == sorted(least)
        assert all(value <= present * (1 + 1e-9) for value, present in zip(least, front.present, strict=True))


def test_the_most_production_of_f1_is_held_by_the_traveller_speed():
    study = seek(Question(mill=MILL, frame="F1", yarn="AV30K", reach=FEW))
    assert study.relaxed[0].name == "Traveller speed"
    # no part within reach changes the traveller's speed, so 36 m/s on 40 mm hold: 36 / 0.02 = 1800 rad/s of traveller
    slowest_lag = 1 - 1 / (np.pi * CHOICE.frame.build.cop_diameter * study.course.doff.problem.twist)
    assert study.best.mean_speed == pytest.approx(1800 / slowest_lag, rel=2e-3)
    assert study.as_set is not None
    assert study.best.production > 1.05 * study.as_set.production


def test_the_cheapest_run_costs_no_more_than_the_run_as_set():
    study = seek(Question(mill=MILL, frame="F4", yarn="AV60C", aim="cost", reach=FEW, most=60))
    costs = [run.cost.total for run in (study.best, study.as_set, study.speeds_alone) if run is not None and run.cost]
    assert len(costs) == 3
    assert costs[0] <= min(costs) * (1 + 1e-3)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"aim": "speed"}, "the aim is"),
        ({"aim": "tension", "keep": ("guide",)}, "the part to keep"),
        ({"aim": "cost", "production": "22 g/h"}, "asked for with --for tension"),
        ({"aim": "tension", "candidates": 0}, "at least 1"),
    ],
)
def test_a_wrong_question_is_refused_in_words(asked, words):
    with pytest.raises(Refusal, match=words):
        question_of(MILL, "F1", "AV30K", **asked)


def test_a_production_out_of_reach_is_refused_with_the_most_there_is():
    question = question_of(MILL, "F1", "AV30K", aim="tension", production="40 g/h", candidates=1)
    with pytest.raises(Refusal, match=r"40.0.*at most 24\.\d.g/h"):
        seek(question)


def test_limits_that_no_candidate_keeps_are_named():
    mill = with_limits(MILL, ("separator_room=20 mm",))
    axes = axes_for(CHOICE, FEW)
    found = search(bench_for(CHOICE, mill.limits), axes, most=40)
    with pytest.raises(Refusal, match=r"the room to the separator.*by .*mm. No speed mends this"):
        refuse_none(found)


def test_two_limits_that_fight_are_both_named(bench):
    axes = axes_for(CHOICE, FEW)
    picks = every_pick(bench, axes)[:2]
    tried = try_picks(bench, axes, picks)
    room = np.full((2, len(SHAPES)), 1e-3)
    room[0, SHAPES.index("separator")] = -2e-3
    room[1, SHAPES.index("tube tip")] = -1e-3
    fought = replace(tried, room=room)
    fighting = Found(axes=axes, picks=tuple(picks), tried=fought, weights=bench.weights, ended="")
    with pytest.raises(Refusal, match=r"a fight between the room to the separator and the room to the tube's tip"):
        refuse_none(fighting)


def test_changes_names_only_the_parts_that_differ():
    axes = axes_for(CHOICE, FEW)
    start = tuple(axis.present for axis in axes)
    assert changes(axes, start) == ()
    assert [axis.key for axis, _ in changes(axes, (start[0] - 1, *start[1:]))] == ["traveller"]
    assert len(searching.singles(axes, start)) == sum(len(axis.steps) - 1 for axis in axes)


def test_the_reach_that_a_frame_allows_is_taken_in_the_steps_of_the_part():
    question = question_of(MILL, "F1", "AV30K", aim="cost", reach=("guide-height=-10 to 15 mm", "guide-lift=0 to 1 cm"))
    axes = {axis.key: axis for axis in axes_for(CHOICE, question.reach)}
    there = CHOICE.frame.guide.height
    assert axes["guide.height"].steps == pytest.approx([there + step * 1e-3 for step in (-10, -5, 0, 5, 10, 15)])
    assert len(axes["guide.lift"].steps) == 2
    assert axes["control_ring.height"].steps == axes_for(CHOICE, Reach())[2].steps


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("guide-heigth=-5 to 5 mm", "Did you mean guide-height"),
        ("traveller=-1 to 1", "with a part among"),
        ("guide-height=5 mm", "LOW to HIGH"),
        ("guide-height=5 to 10 mm", "counted from where the part is"),
        ("guide-height=-5 to 10", "--reach guide-height"),
    ],
)
def test_a_reach_that_cannot_be_read_is_refused_in_words(text, words):
    with pytest.raises(Refusal, match=words):
        with_reach(Reach(), (text,))
