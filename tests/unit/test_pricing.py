"""Candidates priced all at once, against doffs solved and costed one by one."""

from dataclasses import replace

import numpy as np
import pytest

from ringwright.economy import cost_per_kg, ground
from ringwright.improve.better import Question, seek
from ringwright.improve.drive import Drive, SpeedCourse, course_as_set
from ringwright.improve.parts import Reach, axes_for, with_parts
from ringwright.improve.pricing import pricing_for
from ringwright.improve.respun import respun
from ringwright.improve.run import Priced, cost_of, whole_doff
from ringwright.improve.search import Found, every_pick, try_picks
from ringwright.improve.tried import bench_for
from ringwright.improve.worth import worth
from ringwright.mill import demo_mill_path, read_mill
from ringwright.setting.choice import Trial, choose
from ringwright.setting.doff import solve_doff
from ringwright.setting.places import Sampling

MILL = read_mill(demo_mill_path())
CHOICE = choose(MILL, "F1", "AV30K")
SMALL = Sampling(strokes=16, places=9)
FEW = Reach(
    control_ring_diameter=(-4e-3, 4e-3, 4e-3), control_ring_height=None, control_ring_lift=None,
    guide_height=(-10e-3, 10e-3, 10e-3), guide_lift=None,
)  # fmt: skip


TINY = replace(FEW, control_ring_diameter=None)


def a_course(*rpm):
    return SpeedCourse(shares=(0.0, 0.05, 0.1, 0.9, 1.0), speeds=tuple(one * 2 * np.pi / 60 for one in rpm))


@pytest.fixture(scope="module")
def present():
    return solve_doff(MILL, "F1", "AV30K", Trial(), SMALL)


@pytest.fixture(scope="module")
def priced_few(present):
    """Every candidate of a reduced space, tried, and what it is priced by."""
    axes = axes_for(CHOICE, FEW)
    bench = bench_for(CHOICE, MILL.limits)
    start = tuple(axis.present for axis in axes)
    picks = [start, *(pick for pick in every_pick(bench, axes) if pick != start)]
    tried = try_picks(bench, axes, picks)
    found = Found(axes=axes, picks=tuple(picks), tried=tried, weights=bench.weights, ended="")
    terms = ground(MILL, present)
    return found, pricing_for(bench, terms, course_as_set(CHOICE.setting), tried), Priced(ground=terms)


def test_a_doff_respun_is_the_doff_solved_at_that_course(present):
    course = a_course(12000, 14000, 17000, 17000, 13000)
    speeds = dict(zip(("start_speed", "base_speed", "main_speed", "tip_speed"),
                      (course.speeds[i] for i in (0, 1, 2, 4)), strict=True))  # fmt: skip
    solved = whole_doff(MILL, replace(CHOICE, setting=CHOICE.setting.model_copy(update=speeds)), SMALL)
    found = respun(present, course)
    for name in ("triangle_most", "winding_tension", "traveller_heat", "ring_force", "largest_radius"):
        assert getattr(found.forces, name) == pytest.approx(getattr(solved.forces, name), rel=1e-7)
    for name in ("time", "spindle_speed", "yarn_speed", "traveller_lag"):
        assert getattr(found.places, name) == pytest.approx(getattr(solved.places, name), rel=1e-9, abs=1e-9)
    terms = ground(MILL, present)
    assert cost_per_kg(found, terms).total == pytest.approx(cost_per_kg(solved, terms).total, rel=1e-9)


def test_the_price_of_the_present_parts_at_the_present_course_is_their_cost(priced_few, present):
    found, pricing, priced = priced_few
    centres = np.cumsum(found.weights) - found.weights / 2
    speeds = np.tile(course_as_set(CHOICE.setting).at(centres), (len(found.picks), 1))
    # Twelve strokes of four places stand for the doff: half a per cent is what that leaves.
    assert pricing.cost(found.tried, speeds)[0] == pytest.approx(cost_per_kg(present, priced.ground).total, rel=5e-3)


def test_every_candidate_is_priced_as_its_own_doff_costs(priced_few):
    found, pricing, priced = priced_few
    prices = pricing.least(found.tried)
    keeping = np.flatnonzero(np.isfinite(prices))
    some = keeping[np.random.default_rng(3).permutation(keeping.size)[:5]]
    for number in some:
        doff = whole_doff(MILL, with_parts(CHOICE, found.axes, found.picks[number]), SMALL)
        own = priced.cheapest(doff, MILL.limits, Drive())
        assert own.cost is not None
        assert prices[number] == pytest.approx(own.cost.total, rel=6e-3)


def test_the_cheapest_of_the_search_is_the_cheapest_of_all_candidates_costed_one_by_one(priced_few):
    _, _, priced = priced_few
    answer = seek(Question(mill=MILL, frame="F1", yarn="AV30K", aim="cost", reach=TINY))
    bench, axes, costs = bench_for(CHOICE, MILL.limits), axes_for(CHOICE, TINY), {}
    every = every_pick(bench, axes)
    for pick in [one for one, keeps in zip(every, try_picks(bench, axes, every).keeps, strict=True) if keeps]:
        doff = whole_doff(MILL, with_parts(CHOICE, axes, pick), SMALL)
        run = priced.cheapest(doff, MILL.limits, Drive())
        costs[pick] = run.cost.total if run.cost else np.inf
    taken = {axis.key: step for axis, step in answer.changed}
    pick = tuple(taken.get(axis.key, axis.present) for axis in axes)
    assert len(costs) >= 9
    assert costs[pick] <= min(costs.values()) * 1.001  # 0.1 % is given for changing fewer parts


def test_the_cheapest_course_undercuts_a_grid_of_courses(priced_few, present):
    _, _, priced = priced_few
    best = priced.cheapest(present, MILL.limits, Drive())
    assert best.cost is not None
    grid = [
        a_course(base * m, (base + 1) / 2 * m, m, m, tip * m)
        for m in (14000, 15000, 15500, 16000, 17000)
        for base in (0.9, 1.0)
        for tip in (0.9, 1.0, 1.04)
    ]
    assert best.cost.total <= min(priced.cost(present, course).total for course in grid) * (1 + 5e-4)


def test_no_speeds_alone_cost_more_than_the_setting_as_it_is():
    for frame, yarn in (("F4", "AV40B"), ("F3", "AV30K")):
        doff = solve_doff(MILL, frame, yarn, Trial(), SMALL)
        terms = ground(MILL, doff)
        run = Priced(ground=terms).cheapest(doff, MILL.limits, Drive())
        assert run.cost is not None
        assert run.cost.total <= cost_per_kg(doff, terms).total * (1 + 1e-9)


def test_a_relaxed_limit_pays_for_the_cost_where_it_holds_the_speed_down(priced_few):
    found, pricing, _ = priced_few
    held = {"traveller_speed": 0.85}  # a limit of 30.6 m/s, under the economic speed
    tight = float(pricing.least(found.tried, held).min())
    wider = float(pricing.least(found.tried, {"traveller_speed": 0.85 * 1.05}).min())
    assert wider < tight
    assert float(pricing.least(found.tried).min()) < wider


def test_the_front_of_cost_has_its_least_inside_and_never_lies_above_the_parts_as_set():
    answer = seek(Question(mill=MILL, frame="F1", yarn="AV30K", aim="cost", reach=TINY))
    front = next(one for one in answer.fronts if one.against == "cost")
    assert all(point.least <= present * (1 + 1e-9) for point, present in zip(front.points, front.present, strict=True))
    assert min(point.least for point in front.points) >= cost_of(answer.best) * 0.995
    assert answer.first is not None
    assert answer.as_set is not None
    assert cost_of(answer.first) < cost_of(answer.as_set)


def test_the_worth_of_a_change_by_hand(priced_few, present):
    _, _, priced = priced_few
    before = priced.cheapest(present, MILL.limits, Drive())
    after = replace(before, cost=replace(before.cost, energy=before.cost.energy - 0.01))
    year = 1008 * MILL.money.spinning_time_per_year
    saved = worth(before, after, 1008, MILL.money)
    assert saved.yarn == 0
    assert saved.money == pytest.approx(0.01 * before.cost.production * year)
    assert not saved.by_price
    money = MILL.money.model_copy(update={"spinning_price_per_kg": 0.75})
    more = replace(before, cost=replace(before.cost, production=1.1 * before.cost.production))
    earned = worth(before, more, 1008, money)
    assert earned.yarn == pytest.approx(0.1 * before.cost.production * year)
    assert earned.money == pytest.approx((0.75 - before.cost.total) * 0.1 * before.cost.production * year)
