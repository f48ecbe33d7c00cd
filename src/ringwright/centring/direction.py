"""Directions at the frame: along it and to the front, and on the clock of a person who stands before the spindle.

``along`` counts towards the higher spindle number, ``out`` to the front, to the person. Seen from above by that person
12 o'clock points away, to the middle of the frame, and 3 o'clock to the right hand. Our own choice.
"""

from __future__ import annotations

import math

import numpy as np

from ringwright.centring.side import Sides
from ringwright.physics.real import Array
from ringwright.units import show

__all__ = ["clock_words", "from_clock", "read_clock", "to_clock", "way_words"]

_HOURS = 12.0


def read_clock(text: str) -> float | None:
    """Read a place on the clock in hours: "4", "4.5" or "4:30"; None if it is none. 0 and 12 are the same."""
    hours, colon, minutes = text.strip().lower().removesuffix("o'clock").strip().partition(":")
    try:
        value = float(hours) + (int(minutes) / 60 if colon else 0.0)
    except ValueError:
        return None
    fits = 0 <= value <= _HOURS and (not colon or (len(minutes) == 2 and int(minutes) < 60))
    return value % _HOURS if fits and math.isfinite(value) else None


def from_clock(hours: float, amount: float, hand: int) -> tuple[float, float]:
    """Turn a clock place [hours] and an amount [m] into (along, out) [m]; ``hand`` is 1 where numbers rise rightwards.

    Exact geometry: right is amount x sin, away is amount x cos of the angle from 12 o'clock.
    """
    angle = 2 * math.pi * hours / _HOURS
    return hand * amount * math.sin(angle), -amount * math.cos(angle)


def to_clock(along: Array | float, out: Array | float, hand: Array | int) -> Array:
    """Turn (along, out) into the place on the clock [hours, from 0 to below 12]; shapes broadcast."""
    angle = np.arctan2(np.asarray(hand) * np.asarray(along), -np.asarray(out))
    return np.asarray(angle * _HOURS / (2 * np.pi) % _HOURS, dtype=np.float64)


def clock_words(along: float, out: float, spindle: int, sides: Sides) -> str:
    """Say a direction as the nearest half hour of the clock, as "4 o'clock" or "half past 4"."""
    half = round(2 * float(to_clock(along, out, sides.hand(spindle)))) % 24
    hour = half // 2 or 12
    return f"half past {hour}" if half % 2 else f"{hour} o'clock"


def way_words(along: float, out: float) -> str:
    """Say a vector in its two parts: along the frame, and to the front or back, in mm to 0.01 mm."""
    ways = ((along, "towards higher numbers", "towards lower numbers"), (out, "to the front", "away"))
    parts = [
        f"{show(abs(value), 'length', 'mm', 2)} {more if value > 0 else less}"
        for value, more, less in ways
        if abs(value) >= 0.5e-5
    ]
    return " and ".join(parts) or "nowhere"
