"""The cautions that go with work at a ring frame, as data for a card or a work list.

General workshop practice, no source: the words say what can hurt and leave the procedure to the mill's own rules, the
local code and trained people.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ringwright.mill import Frame, Yarn

__all__ = ["Caution", "cautions", "dust_of", "joined"]

RULES_FIRST = "Your mill's rules and trained people come first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A caution for one kind of work: the act first, then the harm, then whose rules come first.

    ``fibres`` are those whose dust it is about, empty for a caution about no dust.
    """

    work: str
    act: str
    harm: str
    rules: str = RULES_FIRST
    fibres: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The whole caution."""
        return f"{self.act}. {self.harm} {self.rules}"


_ALWAYS = (
    Caution(
        work="all work past the guards",
        act="Stop and lock out before reaching past the guards or touching spindles, travellers, rings, tapes or belts",
        harm="Turning parts draw in hair, sleeves and fingers. Guards on before restart.",
    ),
    Caution(
        work="changing travellers",
        act="Stop and lock out before changing travellers, and wear eye protection",
        harm="A traveller that springs loose can hurt an eye, and a worn one cuts.",
    ),
    Caution(
        work="changing or setting rings",
        act="Stop and lock out before changing, cleaning or centring rings",
        harm="The rail can move and trap a hand, and a traveller can fly off at the first run.",
    ),
)  # fmt: skip
_CONTROL_RINGS = Caution(
    work="setting control rings",
    act="Stop and lock out before setting or taking off control rings",
    harm="The spindle's tip turns inside the ring, and the rails can move and trap a hand.",
)
_MOTORS = Caution(
    work="work on spindle motors",
    act="Stop, switch off and lock out before work on spindle motors; electrical work is for authorised people",
    harm="A spindle can start alone, and parts can stay live after the stop.",
)
_RUNNING = (
    Caution(
        work="reading tension on a running spindle",
        act="Let only trained people read tension on running spindles, with the guards on and nothing loose",
        harm="The spindle, the balloon and a flying traveller are within reach of the hand that holds the meter.",
    ),
    Caution(
        work="being in the ring room",
        act="Wear hearing protection where your local code or the sign at the door asks for it",
        harm="The noise of many spindles harms hearing slowly and for good; more speed is more noise.",
    ),
)
_CLEAN = "Clean by suction where you can, never blow dust off clothes or skin, and wear a mask where your code asks"


def _drive(what: str) -> Caution:
    return Caution(
        work=f"work on {what}",
        act=f"Stop and lock out before work on {what}, and wait until every spindle stands still",
        harm="A belt or tape draws in hands at its pulleys, and spindles run on after the stop.",
    )


def dust_of(yarn: Yarn, work: str, act: str) -> Caution:
    """Give the caution about the dust of a yarn's fibres."""
    return _dust(work, act, tuple(dict.fromkeys(fibre.name.split(",")[0] for fibre in yarn.fibres)))


def _dust(work: str, act: str, fibres: tuple[str, ...]) -> Caution:
    harm = f"Dust and fly of {' and '.join(fibres)} harm the lungs and can burn."
    return Caution(work=work, act=act, harm=harm, fibres=fibres)


def joined(known: Iterable[Caution]) -> tuple[Caution, ...]:
    """Give each act once, in order; the dust of several yarns becomes one caution that names all their fibres."""
    found: dict[str, Caution] = {}
    for one in known:
        there = found.setdefault(one.act, one)
        if one.fibres and one.fibres != there.fibres:
            both = tuple(dict.fromkeys((*there.fibres, *one.fibres)))
            found[one.act] = replace(_dust(one.work, one.act, both), rules=there.rules)
    return tuple(found.values())


def cautions(frame: Frame, yarn: Yarn) -> tuple[Caution, ...]:
    """Give the cautions for work on a frame with a yarn; the first one holds for all work past the guards."""
    motors = frame.drive.kind == "single-spindle motors"
    drive = _MOTORS if motors else _drive("spindle tapes" if frame.drive.kind == "four-spindle tape" else "belts")
    control_rings = () if frame.control_ring is None else (_CONTROL_RINGS,)
    return (*_ALWAYS, *control_rings, drive, *_RUNNING, dust_of(yarn, "cleaning", _CLEAN))
