"""The card's line about centring."""

from __future__ import annotations

from ringwright.centring.effect import answering_of, one_part
from ringwright.centring.target import target_of
from ringwright.centring.words import mm
from ringwright.mill import Mill
from ringwright.units import show

__all__ = ["SMALL", "card_line"]

SMALL = 0.05e-3
"""An offset [m] that is small enough for the linear answer nearly everywhere, and large enough to be read."""


def card_line(mill: Mill, frame: str, yarn: str) -> str:
    """Say in one line what centring asks of a frame with a yarn: tolerances, the pointer's target, why it matters."""
    answering = answering_of(mill, frame, yarn)
    stated, ring = answering.choice.frame.centring, one_part(answering, "ring")
    target = target_of(answering)
    off = min(SMALL, ring.valid)
    return (
        f"Centre ring to {mm(stated.ring_tolerance)}, guide to {mm(stated.guide_tolerance)} (common practice): pointer "
        f"{mm(target.middle)} inside the eyelet's edge, rollers' side; ring {mm(off)} off swings the tension by up to "
        f"{show(off * ring.swing, 'force', 'cN', 1)}."
    )
