"""The card's line about centring."""

from __future__ import annotations

import math

from ringwright.centring.effect import answering_of
from ringwright.centring.target import target_of
from ringwright.centring.words import mm
from ringwright.mill import Mill

__all__ = ["SMALL", "card_line"]

SMALL = 0.05e-3
"""An offset [m] that is small enough for the linear answer nearly everywhere, and large enough to be read."""


def card_line(mill: Mill, frame: str, yarn: str) -> str:
    """Say in one line what centring asks of a frame with a yarn: the ring's tolerance and the pointer's target."""
    answering = answering_of(mill, frame, yarn)
    ring, target = mm(answering.choice.frame.centring.ring_tolerance), target_of(answering).middle
    if math.isnan(target):
        return f"Rings centred to {ring}; no steady balloon to set the pointer by"
    return f"Rings centred to {ring}; pointer {mm(target)} inside the eyelet, rollers' side"
