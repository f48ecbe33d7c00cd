"""What is asked of the solver for a trial at a moment, and what lies one slider step or more beside it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from ringwright.mill import Mill
from ringwright.workbench.ahead import Ahead, Asked
from ringwright.workbench.place import Moment, asked_positions
from ringwright.workbench.tried import Tried, nearby

__all__ = ["MOMENT_STEPS", "asked", "asked_near"]

REACH, EDGE = 8, 3
"""Steps solved on either side; more are solved when fewer than EDGE are left."""
MOMENT_STEPS = {"doff": 0.01, "chase": 0.05}
"""Steps of the moment's two sliders, as shares."""


def asked(tried: Tried, moment: Moment, version: int, *, banded: bool) -> Asked:
    """Ask for a trial that can be used; ``banded`` adds the ends of ring friction unless a friction is tried."""
    assert tried.choice is not None  # noqa: S101 - the caller asks only for what can be used
    banded = banded and tried.banded
    return Asked((version, tried.key, moment, banded), partial(asked_positions, tried.choice, moment, banded=banded))


def asked_near(mill: Mill, here: tuple[Tried, Moment], moved: str, version: int, ahead: Ahead) -> list[Asked]:
    """Ask for the places that the moved slider may come to next; nothing while enough of them are known.

    ``here`` is what is tried and when, ``version`` that of the mill's files.
    """
    if all(ahead.knows(one.key) for one in _beside(mill, here, moved, version, EDGE)):
        return []
    return _beside(mill, here, moved, version, REACH)


def _beside(mill: Mill, here: tuple[Tried, Moment], moved: str, version: int, reach: int) -> list[Asked]:
    tried, moment = here
    if moved in MOMENT_STEPS:
        return [asked(tried, one, version, banded=True) for one in _moments(moment, moved, reach)]
    return [asked(one, moment, version, banded=True) for one in nearby(mill, tried, moved, reach)]


def _moments(moment: Moment, moved: str, reach: int) -> list[Moment]:
    step, name = MOMENT_STEPS[moved], "share" if moved == "doff" else "up"
    here, last = round(getattr(moment, name) / step), round(1 / step)
    shares = [round(step * k, 9) for k in range(max(here - reach, 0), min(here + reach, last) + 1)]
    return [replace(moment, **{name: share}) for share in shares if share != getattr(moment, name)]
