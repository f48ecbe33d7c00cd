"""Cautions for work on the drive and for reading speeds on a running frame."""

from __future__ import annotations

from ringwright.judgement.cautions import RULES_FIRST, cautions
from ringwright.mill import Frame, Yarn

__all__ = ["HEARING", "STROBOSCOPE", "drive_cautions"]

STROBOSCOPE = (
    "Never reach towards a part that a stroboscope shows standing still, and keep the guards on: it turns at full "
    f"speed. Flashing light can bring on fits in some people. {RULES_FIRST}"
)
HEARING = (
    "Measure the noise with a sound level meter; from a daily exposure of 85 dB(A) hearing protection is to be worn "
    "(upper action value of the European directive of 2003; your local code may say less). Noise harms hearing slowly "
    f"and for good. {RULES_FIRST}"
)


def drive_cautions(frame: Frame, yarn: Yarn, *, reading: bool = False) -> tuple[str, ...]:
    """Give the cautions for work on belts, tapes or motors, for hearing, and where asked for reading speeds."""
    works = ("all work past the guards", "work on belts", "work on spindle tapes", "work on spindle motors")
    found = [one.words for one in cautions(frame, yarn) if one.work in works]
    return (*found, *((STROBOSCOPE,) if reading else ()), HEARING)
