"""Frames of the demonstration with loads that are easy to reckon with, and rounds drawn for them."""

from __future__ import annotations

from functools import cache

import numpy as np

from ringwright.drive.frame_drive import FrameDrive, drive_frame
from ringwright.drive.load import SpindleLoad
from ringwright.mill import Frame, demo_mill_path, read_mill

RPM = 2 * np.pi / 60
LOAD = SpindleLoad(
    yarn=8.0, air=1.0, bare=9.0, speed=16000 * RPM, bare_exponent=1.75, output=19.7e-6 / 0.060 * 0.020, efficiency=0.9
)
"""18 W at 16 000 rpm; the output is a round figure."""


@cache
def frame(name: str) -> Frame:
    """A frame of the demonstration mill."""
    return read_mill(demo_mill_path()).frames[name]


def changed(name: str, **drive: object) -> Frame:
    """A frame whose drive has other keys; belt, tape, motors and wharves take a mapping of their own keys."""
    one = frame(name)
    told: dict[str, object] = {}
    for key, value in drive.items():
        held = getattr(one.drive, key)
        told[key] = held.model_copy(update=value) if isinstance(value, dict) else value
    return one.model_copy(update={"drive": one.drive.model_copy(update=told)})


@cache
def driven(name: str) -> FrameDrive:
    """A frame driven with that load."""
    return drive_frame(frame(name), LOAD)


def drawn(
    of: FrameDrive, seed: int, *, tape: float = 0.002, spindle: float = 0.001, first: int = 1, last: int = 0
) -> dict[int, float]:
    """Speeds of the spindles first to last: the model's, with normal spreads of tapes and spindles and no fault."""
    rng = np.random.default_rng(seed)
    last = last or len(of.speed)
    groups = rng.normal(0, tape, int(of.belt.max()) + 1)
    own = rng.normal(0, spindle, len(of.speed))
    speeds = of.speed * 0.995 * (1 + (groups[of.belt] if of.belt.max() > 9 else 0) + own)
    return {k: float(speeds[k - 1]) for k in range(first, last + 1)}
