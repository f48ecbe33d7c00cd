"""Limits of positions that are kept: the same numbers as followed anew, and followed only where they are new."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ringwright.judgement import judge
from ringwright.physics.position import limit_masses
from ringwright.setting.choice import Trial
from ringwright.setting.doff import solve_doff, solve_doffs
from ringwright.setting.places import Sampling
from ringwright.setting.problem import positions
from ringwright.verbs import app
from ringwright.workbench import followed
from ringwright.workbench.followed import Followed

MILL = app.open_mill("demo")
FEW = Sampling(strokes=3, places=4)


@pytest.fixture
def asked(monkeypatch):
    """Count the positions that are followed to their limits."""
    counts: list[int] = []

    def counted(given):
        counts.append(len(given))
        return limit_masses(given)

    monkeypatch.setattr(followed, "limit_masses", counted)
    return counts


def some_positions():
    doff = solve_doff(MILL, "F1", "AV30K", sampling=FEW)
    return positions(doff.choice, doff.places)


def test_what_was_followed_once_is_not_followed_again_and_its_limits_are_the_same(asked):
    remembering, given = Followed(), some_positions()
    first, again, anew = remembering(given), remembering(given), limit_masses(given)
    assert asked == [len(given)]
    for name in ("fold", "neck", "lift_off", "lightest", "followed"):
        assert np.array_equal(getattr(first, name), getattr(anew, name), equal_nan=True)
        assert np.array_equal(getattr(again, name), getattr(anew, name), equal_nan=True)


def test_neither_the_traveller_nor_without_feed_and_gravity_the_speed_moves_a_limit(asked):
    remembering, given = Followed(), some_positions()
    first = remembering(given)
    other = replace(given, traveller_mass=0.7 * given.traveller_mass, traveller_speed=1.2 * given.traveller_speed)
    assert np.array_equal(remembering(other).fold, first.fold, equal_nan=True)
    assert np.allclose(limit_masses(other).fold, first.fold, rtol=1e-9, equal_nan=True)
    assert asked == [len(given)]


@pytest.mark.parametrize("name", ["balloon_height", "ring_traveller_friction", "gravity", "drag_coefficient"])
def test_what_does_move_a_limit_is_followed_anew(asked, name):
    remembering, given = Followed(), some_positions()
    remembering(given)
    remembering(replace(given, **{name: getattr(given, name) * 1.1 + 0.01}))
    assert asked == [len(given), len(given)]


def test_a_speed_is_part_of_the_question_where_the_yarn_has_weight(asked):
    remembering, given = Followed(), replace(some_positions(), gravity=np.full(12, 9.81))
    remembering(given)
    remembering(replace(given, traveller_speed=1.1 * given.traveller_speed))
    assert asked == [12, 12]


def test_rooms_with_kept_limits_are_told_in_the_same_words():
    remembering = Followed()
    for mass in (45e-6, 40e-6, 30e-6):
        kept = judge(MILL, "F1", "AV30K", Trial(traveller_mass=mass), follow=remembering)
        anew = judge(MILL, "F1", "AV30K", Trial(traveller_mass=mass))
        assert [one.sentence for one in kept.rooms] == [one.sentence for one in anew.rooms]
        assert kept.notes == anew.notes


def test_doffs_solved_together_are_the_doffs_solved_alone():
    trials = (Trial(), Trial(ring_friction=0.12), Trial(control_ring=False))
    for together, trial in zip(solve_doffs(MILL, "F1", "AV30K", trials, FEW), trials, strict=True):
        alone = solve_doff(MILL, "F1", "AV30K", trial, FEW)
        assert np.allclose(together.forces.winding_tension, alone.forces.winding_tension, rtol=1e-8, equal_nan=True)
        assert np.array_equal(together.forces.outcome, alone.forces.outcome)
        assert together.notes == alone.notes
