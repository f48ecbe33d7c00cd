"""The moment typed at the bench is the one drawn: in the very stroke, at the very height of it."""

from __future__ import annotations

from typing import cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ringwright.setting.choice import choose
from ringwright.setting.places import Sampling, lay_out, place_at
from ringwright.setting.problem import doff_problem
from ringwright.verbs import app
from ringwright.workbench.ahead import Ahead
from ringwright.workbench.asking import asked, asked_near
from ringwright.workbench.place import Moment, moment_of
from ringwright.workbench.tried import read_tried

MILL = app.open_mill("demo")
PROBLEM = doff_problem(choose(MILL, "F1", "AV30K"))


@given(share=st.floats(0, 1), up=st.floats(0, 1))
def test_the_place_lies_in_the_stroke_that_winds_the_share_and_at_the_height_asked_for(share, up):
    place = place_at(PROBLEM, share, up)
    stroke, last = int(place.stroke[0]), int(PROBLEM.strokes) - 1
    assert stroke == last or stroke <= share * PROBLEM.strokes * (1 + 1e-9) < stroke + 1 + 1e-6
    foot = place_at(PROBLEM, share, 0.0)
    raised = float(place.ring_height[0] - foot.ring_height[0])
    assert raised == pytest.approx(up * MILL.frames["F1"].build.chase, abs=1e-12)


def test_foot_and_top_are_those_of_the_whole_doff():
    doff = lay_out(PROBLEM, Sampling(strokes=2, places=3))
    for share, first in ((0.0, 0), (1.0, 3)):
        for up, row in ((0.0, 0), (1.0, 2)):
            place = place_at(PROBLEM, share, up)
            for name in ("stroke", "ring_height", "winding_diameter", "guide_height", "time"):
                assert getattr(place, name)[0] == pytest.approx(getattr(doff, name)[first + row], rel=1e-12)


def test_a_moment_is_read_as_typed():
    moment, faults = moment_of({"doff": "43.7 %", "chase": "0.33"})
    assert (moment.share, moment.up, faults) == (0.437, 0.33, {})


class Nothing:
    """Knows no answer yet."""

    def knows(self, _: object) -> bool:
        return False


@pytest.mark.parametrize(("moved", "word"), [("doff", "35 %"), ("chase", "35 %")])
def test_what_is_solved_ahead_are_the_sliders_own_next_steps(moved, word):
    tried = read_tried(MILL, "F1", "AV30K", {})
    here, _ = moment_of({moved: word})
    near = asked_near(MILL, (tried, here), moved, 1, cast("Ahead", Nothing()))
    ahead = {one.key for one in near}
    step = {"doff": 1, "chase": 5}[moved]
    for k in (-3, -1, 1, 2, 7):
        beside, _ = moment_of({moved: f"{35 + k * step} %"})
        if beside != here and k * step + 35 >= 0:
            assert asked(tried, beside, 1, banded=True).key in ahead
    assert asked(tried, Moment(share=1.01), 1, banded=True).key not in ahead
