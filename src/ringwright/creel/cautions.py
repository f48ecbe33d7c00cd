"""The cautions that go with work in the creel; general workshop practice, no source."""

from __future__ import annotations

from ringwright.judgement.cautions import Caution, dust_of
from ringwright.mill import Yarn

__all__ = ["creel_cautions"]

_REACHING = Caution(
    work="reaching into the creel",
    act="Stand firm and reach into the creel with one hand free; never climb on the frame",
    harm="The drafting rollers below draw in sleeves and fingers, and a full bobbin that falls hurts.",
)
_STEPS = Caution(
    work="steps at the creel",
    act="Use a sound, level step made for it, and face the creel",
    harm="A fall onto a running frame maims.",
)
_CARTS = Caution(
    work="moving carts",
    act="Push carts at walking pace with the way in sight, two people to a heavy one, and keep gangways free",
    harm="A loaded cart crushes feet and hands and is slow to stop.",
)
_BRAKE = Caution(
    work="setting a hanger's brake",
    act="Stop and lock out before setting brakes or oiling hangers over the rollers",
    harm="Tools and hands come between moving rollers.",
)


def creel_cautions(yarn: Yarn) -> tuple[Caution, ...]:
    """Give the cautions for creeling, carts, brakes and the dust of a yarn's fibres."""
    act = "Clean creels and empty bobbins by suction, not by blowing, and wear a mask where your code asks"
    return (_REACHING, _STEPS, _CARTS, _BRAKE, dust_of(yarn, "dust at the creel", act))
