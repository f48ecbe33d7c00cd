"""The floor's simulation against cases that a person can reckon by hand, and its own balances."""

import numpy as np
import pytest

from ringwright.creel.floor import Crew, FrameRun, run_floor


def always(value):
    return lambda _: value


def crew(**changes):
    usual = {"creelers": 1, "doffing_crews": 1, "carts": 1, "cart_size": 10, "store": 1000}
    return Crew(**(usual | {"per_bobbin": always(10.0), "trip": always(60.0)} | changes))


def frame(**changes):
    usual = {"name": "F", "spin": always(100.0), "doff": always(0.0), "plan": ((3,),), "per_spin": 1.0, "content": 1.0}
    return FrameRun(**(usual | changes))


def test_three_bobbins_that_end_with_the_doff_stand_until_their_turn():
    # Out at 100 s; changed at 110, 120 and 130 s while the frame spins on: 10 + 20 + 30 s of standing spindles.
    log = run_floor((frame(),), crew(), 150.0, seed=1)
    (job,) = log.jobs
    assert (job.due, job.begun, job.done, job.changed, job.empty) == (100.0, 100.0, 130.0, 3, 3)
    assert job.stood == pytest.approx(60.0)
    assert job.first_empty == pytest.approx(100.0)
    assert job.short == 0


def test_a_bobbin_that_held_less_than_reckoned_is_told_apart():
    log = run_floor((frame(content=0.9),), crew(), 150.0, seed=1)
    # Nine tenths last 90 s: out before they were due.
    assert log.jobs[0].short == log.jobs[0].empty == 3
    assert log.jobs[0].stood == pytest.approx(60.0 + 3 * 10.0)


def test_what_is_left_is_stripped():
    log = run_floor((frame(content=1.5),), crew(), 150.0, seed=1)
    # 1.5 less 1.0, 0.1, 0.2 and 0.3 more for those that wait.
    assert log.jobs[0].stripped == pytest.approx(3 * 0.5 - 0.6)
    assert log.jobs[0].empty == 0


def test_groups_in_turn_are_each_renewed_once_in_a_cycle():
    plan = tuple((2,) for _ in range(5))
    log = run_floor((frame(plan=plan, per_spin=0.2, content=1.1),), crew(), 1050.0, seed=1)
    assert [job.due for job in log.jobs] == [100.0 * k for k in range(1, 11)]
    # Each hung for five doffs of 0.2, and the change itself takes 10 and 20 s of 100: 0.02 and 0.04 more. The first
    # round was hung on the stroke, so only later rounds have what their own first change took given back.
    first = sum(job.stripped for job in log.jobs[:5])
    assert first == pytest.approx(5 * (2 * 0.1 - 0.02 - 0.04))
    assert sum(job.stripped for job in log.jobs[5:]) == pytest.approx(5 * 2 * 0.1)


def test_a_second_hand_halves_the_time_of_two_groups():
    run = frame(plan=((4, 4),), content=2.0, spin=always(200.0))
    alone = run_floor((run,), crew(), 390.0, seed=1)
    both = run_floor((run,), crew(creelers=2), 390.0, seed=1)
    assert max(job.done for job in alone.jobs) == pytest.approx(280.0)
    assert max(job.done for job in both.jobs) == pytest.approx(240.0)


def test_an_empty_store_makes_hands_wait_for_the_cart():
    # The cart's first load waits from 500 s on for room, which the first two bobbins make at 1000 and 1010 s.
    run = frame(plan=((6,),), content=2.0, spin=always(1000.0))
    log = run_floor((run,), crew(store=2, cart_size=2, trip=always(500.0)), 2500.0, seed=1)
    job = log.jobs[0]
    # Bobbins 1 and 2 are from the store, 3 and 4 from the cart unloaded at 1010 s, 5 and 6 from its trip to 1510 s.
    assert job.changed == 6
    assert job.done == pytest.approx(1000.0 + 10.0 + 500.0 + 20.0)
    assert job.for_bobbins == pytest.approx(500.0 + 10.0 - 40.0)


def test_two_frames_that_end_together_share_one_doffing_crew():
    runs = (frame(name="A", doff=always(30.0), content=9.0), frame(name="B", doff=always(30.0), content=9.0))
    log = run_floor(runs, crew(), 170.0, seed=1)
    assert log.doffs[:2] == [("A", 100.0, 100.0, 130.0), ("B", 100.0, 130.0, 160.0)]


def test_work_asked_for_faster_than_it_is_done_is_not_asked_for_twice():
    log = run_floor((frame(plan=((33,),), content=100.0),), crew(), 1000.0, seed=1)
    # 33 bobbins take 330 s, so the doffs at 200, 300 and 400 s find the group still waiting.
    assert [job.due for job in log.jobs] == [100.0, 500.0, 900.0]


def test_what_hangs_empty_when_the_time_is_over_is_told():
    log = run_floor((frame(plan=((3,),)),), crew(per_bobbin=always(1000.0)), 250.0, seed=1)
    assert sum(job.empty for job in log.left_empty) == 3
    assert sum(job.stood for job in log.left_empty) == pytest.approx(3 * 150.0)


def test_roving_is_neither_made_nor_lost():
    draw = lambda chance: float(chance.gamma(4.0, 25.0))  # noqa: E731
    plan = ((3,), (4,), (), (5,))
    run = frame(plan=plan, per_spin=0.5, content=5.0, deviation=0.05, spin=draw, doff=always(7.0))
    log = run_floor((run,), crew(creelers=2), 40_000.0, seed=3)
    changed = sum(job.changed for job in log.jobs)
    stripped = sum(job.stripped for job in log.jobs)
    drawn = 0.5 * len(log.doffs) * 12
    # Each of twelve bobbins draws alike; what was hung and is not stripped was drawn, but for what still hangs.
    assert abs(changed * 5.0 - stripped - drawn) < 12 * 5.0
    assert (changed * 5.0 - stripped) / drawn == pytest.approx(1, abs=0.02)


def test_the_same_seed_gives_the_same_week_and_another_gives_another():
    draw = lambda chance: float(chance.exponential(100.0))  # noqa: E731
    runs = (frame(spin=draw, content=9.0),)
    one, same, other = (run_floor(runs, crew(), 5000.0, seed=seed) for seed in (1, 1, 2))
    assert one.doffs == same.doffs
    assert one.work == same.work
    assert one.doffs != other.doffs


def test_one_more_hand_moves_no_doff():
    draw = lambda chance: float(chance.exponential(100.0))  # noqa: E731
    runs = tuple(frame(name=name, spin=draw, content=9.0) for name in "AB")
    alone, both = (run_floor(runs, crew(creelers=hands), 5000.0, seed=1) for hands in (1, 2))
    assert alone.doffs == both.doffs
    assert np.isfinite([job.due for job in alone.jobs]).all()
