"""What holds for every spindle that a mill may state."""

from __future__ import annotations

from functools import cache

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.mill import demo_mill_path, read_mill
from ringwright.physics.oil_damper import film_damping, viscosity_at
from ringwright.refusal import Refusal
from ringwright.setting.choice import Choice, choose
from ringwright.spindle import SpindleStudy, study_spindle
from ringwright.spindle.judged import answer, warnings_of


@cache
def choice() -> Choice:
    return choose(read_mill(demo_mill_path()), "F1", "AV30K")


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(np.log(low), np.log(high)).map(lambda v: float(np.exp(v)))


ROTORS = st.fixed_dictionaries(
    {
        "neck_stiffness": between(1e4, 1e9), "foot_stiffness": between(100, 1e9), "film_gap": between(1e-5, 1.9e-3),
        "foot_diameter": between(1.5e-3, 2e-2), "neck_diameter": between(3e-3, 4e-2),
        "blade_diameter": between(3e-3, 4e-2), "tip_diameter": between(2e-3, 4e-2),
        "bearing_distance": between(0.03, 0.3), "neck_depth": between(0.005, 0.15), "tip_below": between(1e-4, 0.15),
        "sleeve_foot_diameter": st.floats(0, 0.05), "sleeve_tip_diameter": st.floats(0, 0.05),
        "tube_mass": between(0.002, 0.5), "tube_runout_tip": st.floats(0, 3e-3), "neck_damping": st.floats(0, 1e4),
    }
)  # fmt: skip


def solved(asked: Choice) -> tuple[SpindleStudy | None, list[str]]:
    try:
        return study_spindle(asked), []
    except Refusal as refusal:
        return None, [str(fault) for fault in refusal.faults]


@settings(max_examples=30, deadline=None)
@given(given_rotor=ROTORS)
def test_a_spindle_is_solved_or_refused_in_a_sentence(given_rotor):
    had = choice()
    rotor = had.frame.rotor.model_copy(update=given_rotor)
    frame = had.frame.model_copy(update={"rotor": rotor})
    asked = Choice(frame=frame, yarn=had.yarn, setting=had.setting, traveller=had.traveller,
                   air_density=had.air_density)  # fmt: skip
    found, told = solved(asked)
    if found is None:
        assert told
        assert all("it must be" in sentence for sentence in told)
        return
    assert np.isfinite(found.sweep).all()
    assert np.isfinite(found.neck_force).all()
    lowest = found.criticals[:, 0]
    assert (lowest > 0).all()
    # More yarn never lifts the lowest critical speed by more than the gyroscopic effect of its own section.
    assert (np.diff(lowest) <= 0.02 * lowest[:-1]).all()
    # Nothing drives a whirl; where no damper moves, what is left is rounding.
    assert all(decrement > -1e-6 for of in found.whirls for decrement in of.decrement)
    assert "nan" not in answer(found)
    assert all("nan" not in told for told in warnings_of(found))


@given(cool=between(3e-6, 5e-4), share=st.floats(0.05, 0.8), kelvin=st.floats(264, 420))
def test_oil_thins_as_it_warms(cool, share, kelvin):
    hot = max(2e-6, share * cool)
    if hot >= cool:
        return
    assert viscosity_at(kelvin + 5, cool, hot) < viscosity_at(kelvin, cool, hot)


@given(viscosity=between(1e-3, 1), radius=between(1e-3, 0.03), length=between(1e-3, 0.15), share=st.floats(0.002, 0.4))
def test_open_ends_only_take_damping_away(viscosity, radius, length, share):
    gap = share * radius
    sealed = 12 * np.pi * viscosity * (radius / gap) ** 3 * length
    short = np.pi * viscosity * radius * length**3 / gap**3
    assert 0 < film_damping(viscosity, radius, length, gap) <= min(sealed, short) * (1 + 1e-9)
