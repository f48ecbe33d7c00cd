"""What each kind of finding asks the shift to do: the words, where to look, and the work that its cautions belong to.

What to look at and in which turn is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from ringwright.findings.finding import Finding
from ringwright.judgement.cautions import Caution

__all__ = ["ALWAYS", "REACH", "WORDING", "Wording", "cautions_for", "what_to_do"]

REACH: Final = "all work past the guards"
ALWAYS: Final = ("being in the ring room", "cleaning")
"""Works whose cautions hold for the whole list, whatever is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """How a kind of finding is put as a task; ``works`` name the cautions, by the start of the work's name."""

    question: str
    what: str
    when: str
    look_at: str
    works: tuple[str, ...]


WORDING: Final = MappingProxyType(
    {
        "spindle": Wording(
            question="spindles", what="Look at {place}", when="at the next doff",
            look_at="Check in turn: traveller, ring, centring of spindle and lappet, tape, cot and apron.",
            works=(REACH, "changing travellers", "changing or setting rings", "work on"),
        ),
        "separator": Wording(
            question="separators", what="Look at the separator {place}", when="at the next doff",
            look_at="Is the plate there, straight, and long enough? Fit a new one if not.", works=(REACH,),
        ),
        "traveller age": Wording(
            question="travellers", what="Try changing the travellers of {place} earlier", when="plan it with a doff",
            look_at="Note the day of the change, then let the next study compare shifts before and after.",
            works=(REACH, "changing travellers"),
        ),
        "drive group": Wording(
            question="drive", what="Look at the tape or belt of {place}", when="at the next stop",
            look_at="Check in turn: tension of the tape or belt, jockey pulley, wear, fly wound in.",
            works=(REACH, "work on"),
        ),
        "slow spindle": Wording(
            question="speeds", what="Look at {place}: it runs slow", when="at the next stop",
            look_at="Check in turn: fly round the wharve, oil and bolster, wharve's diameter, tape; then read again.",
            works=(REACH, "work on"),
        ),
        "slow group": Wording(
            question="speeds", what="Look at the tape or belt of {place}: it runs slow", when="at the next stop",
            look_at="Check in turn: jockey pulley and its weight or spring, tape stretched or worn, fly wound in.",
            works=(REACH, "work on"),
        ),
        "centring": Wording(
            question="", what="Centre, stop {number}, {place}", when="at the next stop",
            look_at="By which vector, and in which way round:",
            works=(REACH, "changing or setting rings", "setting control rings", "work on"),
        ),
        "centring rail": Wording(
            question="", what="Shift the {part} rail of {place}", when="plan it with a stop, before single spindles",
            look_at="By how much at either end; read a few spindles again before the frame runs:",
            works=(REACH, "changing or setting rings", "setting control rings", "work on"),
        ),
        "centring round": Wording(
            question="", what="Read a round of centring on {place}", when="this month",
            look_at="Read every spindle's ring and guide, some of them twice; then keep the round.",
            works=(REACH, "changing or setting rings"),
        ),
        "place in the cop": Wording(
            question="cop", what="Read the tension on {place} where in the cop ends break most", when="this week",
            look_at="Hold the reading against the setting card; then try another speed there.",
            works=(REACH, "reading tension"),
        ),
        "hours since doff": Wording(
            question="doff", what="Read the tension on {place} at the hours since the doff when ends break most",
            when="this week", look_at="Hold the reading against the setting card; then try another speed there.",
            works=(REACH, "reading tension"),
        ),
        "shift": Wording(
            question="shifts", what="Find out what the shift {shift} had", when="today, at the desk",
            look_at="Look in the book: air (temperature and humidity), mixing, roving lot, people, way of recording.",
            works=(),
        ),
        "change": Wording(
            question="changes", what="Find out what changed on {place} at {shift}", when="today, at the desk",
            look_at="Look in the frame's book: yarn, roving lot, travellers, speed, air, repairs.", works=(),
        ),
    }
)  # fmt: skip
"""The wording by the kind of the finding."""


def what_to_do(one: Finding) -> str:
    """Say what to do, verb first and with the place."""
    return WORDING[one.kind].what.format(place=_place(one), shift=one.shift)


def _place(one: Finding) -> str:
    side = "" if one.side is None else f", side {one.side}"
    if one.kind == "separator":
        return f"between spindles {one.spindles[0]} and {one.spindles[1]}, {one.frame}{side}"
    if not one.spindles:
        return one.frame
    shown = ", ".join(str(k) for k in one.spindles[:8]) + (", ..." if len(one.spindles) > 8 else "")
    return f"{one.frame}{side}, {'spindle' if len(one.spindles) == 1 else 'spindles'} {shown}"


def cautions_for(works: tuple[str, ...], known: tuple[Caution, ...]) -> tuple[Caution, ...]:
    """Pick the cautions of these works out of those of a frame, each once, in the frame's order.

    Raises LookupError where a work has no caution, since a task past the guards must never go without.
    """
    for work in works:
        if not any(one.work.startswith(work) for one in known):
            raise LookupError(f'no caution is known for the work "{work}"')
    return tuple(one for one in known if any(one.work.startswith(work) for work in works))
