"""The rows of one spindle that was run through time: peak, trough, mean, and how long the yarn stands."""

from __future__ import annotations

import numpy as np

from ringwright.centring.effect import Grade
from ringwright.centring.found import Found
from ringwright.centring.in_time import TURNS, InTime, in_time, offsets_at
from ringwright.refusal import Fault, Refusal
from ringwright.report.number import digits
from ringwright.report.sheets.sheet import Row
from ringwright.units import in_unit, show

__all__ = ["in_time_rows"]


def in_time_rows(found: Found, spindle: int) -> tuple[Row, ...]:
    """Run a spindle through time in the place of its highest tension and tell what it showed; Refusal if not read.

    Its offsets are those that stay once the rails of the list are shifted.
    """
    judged, effects = found.judged, found.judged.after
    count = judged.sides.spindles
    if not 1 <= spindle <= count:
        raise Refusal(Fault(where="--in-time", got=str(spindle), wants=f"a spindle from 1 to {count}"))
    at = spindle - 1
    if effects is None or not np.isfinite(effects.peak[at]):
        got, mend = f"{spindle}, not read", "Name a spindle of the round, on a frame whose balloon is steady."
        raise Refusal(Fault(where="--in-time", got=got, wants="one that was read", mend=mend))
    place = int(effects.peak_place[at])
    seen = in_time(found.answering, place, offsets_at(found.answering, judged.left, judged.sides, spindle))
    least = show(float(effects.at_least[at]), "force", "cN", 0)
    linear = show(float(effects.peak[at]), "force", "cN", 1)
    told = f"the list has at least {least}" if effects.grade[at] == Grade.BEYOND else f"the linear answer has {linear}"
    return _rows(f"Spindle {spindle} in time", seen, told)


def _rows(name: str, seen: InTime, told: str) -> tuple[Row, ...]:
    turns = f"run of {TURNS:.0f} turns in the worst place of the doff"
    if seen.stopped:
        why = f"{seen.stopped[0].lower()}{seen.stopped[1:].rstrip('.')}"
        turns = (
            f"the run ended after {digits(seen.turns, 0.1)} turns of {TURNS:.0f} and this is its most, since {why}"
        )
    origin, stands = "computed", in_unit(seen.stands, "share", "%")

    def tension(what: str, value: float, note: str = "") -> Row:
        text = digits(in_unit(value, "force", "cN"), 0.1)
        return Row(name=f"{name}: {what}", value=text, unit="cN", origin=origin, raw=value, note=note)

    most = tension("tension rises to", seen.peak, f"at the guide; {turns}; {told}")
    if seen.stopped:
        return (most,)
    return (
        most, tension("falls to", seen.trough), tension("mean", seen.mean),
        Row(name=f"{name}: yarn stands for", value=digits(stands, 1.0), unit="%", origin=origin, raw=seen.stands,
            note="of each turn, at less than a tenth of its speed on the traveller"),
    )  # fmt: skip
