"""Toothed gearing with one change wheel: what a train gives, and which wheel comes nearest to a target."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import prod
from typing import Literal

from ringwright.refusal import Fault, Refusal

__all__ = ["Option", "Train", "WheelChoice", "nearest_wheel", "train_value"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Train:
    """A train of wheel pairs (driver teeth, driven teeth), from the first shaft to the last.

    ``change_pair`` and ``change_side`` say where the change wheel sits; the teeth written there are of the wheel now
    fitted. ``factor`` turns the speed ratio, last shaft to first, into the quantity wanted: a ratio of roller
    diameters for a draft, 1 / (pi d) for a twist.
    """

    pairs: tuple[tuple[int, int], ...]
    change_pair: int
    change_side: Literal["driver", "driven"]
    factor: float = 1.0

    def __post_init__(self) -> None:
        """Refuse a train without pairs, teeth below one, a place outside the train, or a factor not above zero."""
        if faults := tuple(_faults(self)):
            raise Refusal(faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One change wheel: its teeth, the value it gives, and that value's error as a share of the target."""

    teeth: int
    value: float
    error: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelChoice:
    """The wheel nearest to the target, the next smaller and larger wheels at hand, and the teeth wanted exactly."""

    best: Option
    smaller: Option | None
    larger: Option | None
    exact_teeth: float


def train_value(train: Train, teeth: int | None = None) -> float:
    """Return what the train gives with a change wheel of so many teeth; with None, with the wheel now fitted.

    value = factor x product of driver / driven: the last shaft's speed over the first's, times the factor.
    """
    ratio = train.factor * prod(driver / driven for driver, driven in train.pairs)
    if teeth is None:
        return ratio
    change = teeth / train.pairs[train.change_pair][_side(train)]
    return ratio * change if train.change_side == "driver" else ratio / change


def nearest_wheel(train: Train, wheels: Iterable[int], target: float, *, where: str = "the target") -> WheelChoice:
    """Choose from the wheels at hand (teeth) the one whose value lies nearest to the target, by relative error.

    Refuses a target that would need more than half a tooth beyond the smallest or largest wheel, and names the range
    that can be reached. Of two wheels equally near, the smaller is taken.
    """
    at_hand = sorted(set(wheels))
    if faults := tuple(_choice_faults(at_hand, target, where)):
        raise Refusal(faults)
    share = target / train_value(train, 1)
    exact = share if train.change_side == "driver" else 1 / share
    if not at_hand[0] - 0.5 <= exact <= at_hand[-1] + 0.5:
        raise Refusal(_out_of_reach(train, at_hand, target, exact, where))
    options = [_option(train, teeth, target) for teeth in at_hand]
    best = min(range(len(options)), key=lambda place: abs(options[place].error))
    return WheelChoice(
        best=options[best],
        smaller=options[best - 1] if best > 0 else None,
        larger=options[best + 1] if best + 1 < len(options) else None,
        exact_teeth=exact,
    )


def _side(train: Train) -> int:
    return 0 if train.change_side == "driver" else 1


def _option(train: Train, teeth: int, target: float) -> Option:
    value = train_value(train, teeth)
    return Option(teeth=teeth, value=value, error=value / target - 1)


def _out_of_reach(train: Train, at_hand: list[int], target: float, exact: float, where: str) -> Fault:
    ends = sorted((train_value(train, teeth), teeth) for teeth in (at_hand[0], at_hand[-1]))
    (low, low_teeth), (high, high_teeth) = ends
    return Fault(
        where=where,
        got=f"{target:.4g}",
        wants=f"from {low:.4g} (change wheel {low_teeth} T) to {high:.4g} (change wheel {high_teeth} T)",
        mend=f"It would need a change wheel of {exact:.1f} teeth; get one, or change another wheel of the train.",
    )


def _choice_faults(at_hand: list[int], target: float, where: str) -> Iterable[Fault]:
    if not at_hand:
        yield Fault(where=f"The list of change wheels for {where}", got="empty", wants="at least one number of teeth")
    elif at_hand[0] < 1:
        yield Fault(where=f"A change wheel for {where}", got=f"{at_hand[0]} teeth", wants="1 tooth or more")
    if not target > 0:
        yield Fault(where=where, got=f"{target:g}", wants="above zero")


def _faults(train: Train) -> Iterable[Fault]:
    if not train.pairs:
        yield Fault(where="The train", got="without wheels", wants="at least one pair (driver, driven)")
    for place, pair in enumerate(train.pairs, start=1):
        if min(pair) < 1:
            yield Fault(where=f"Pair {place} of the train", got=f"{pair[0]}/{pair[1]}", wants="teeth of 1 or more")
    if train.pairs and not 0 <= train.change_pair < len(train.pairs):
        yield Fault(
            where="The change wheel's pair", got=f"{train.change_pair}", wants=f"from 0 to {len(train.pairs) - 1}"
        )
    if not train.factor > 0:
        yield Fault(where="The train's factor", got=f"{train.factor:g}", wants="above zero")
