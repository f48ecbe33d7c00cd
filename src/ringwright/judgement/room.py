"""The room to one limit, where in the doff it is least, and how it is told."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ringwright.setting.doff import Doff
from ringwright.units import NARROW_SPACE, chosen, in_unit, show, show_number

__all__ = ["BALLOON", "Authority", "Kind", "Place", "Room", "nearest_first", "place_of", "told"]

_DECIMALS = {"rpm": 0, "in": 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place of the doff: its number in the doff, time [s], number of the stroke, and diameter wound on [m]."""

    index: int
    time: float
    stroke: int
    """0 the first."""
    part: str
    """Of the stroke: "foot", "top", "rise" or "fall"."""
    winding_diameter: float
    throughout: bool = False
    """Whether it stands for the whole doff, where a room is alike at every place."""

    @property
    def words(self) -> str:
        """Say where it is, as a person at the frame would find it."""
        if self.throughout:
            return "every place of the doff"
        part = f"{self.part} of a stroke" if self.part in {"foot", "top"} else f"on the {self.part} of a stroke"
        wound = show(self.winding_diameter, "length", "mm", 1)
        return f"minute {self.time / 60:.0f}, {part}, winding on {wound}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What a limit is about: a lasting key, its name in trade words, quantity and unit, and what is held against it."""

    key: str
    name: str
    quantity: str
    unit: str
    measured: str
    more: str = ""
    """Word after the room: "lighter" for a traveller's mass."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Authority:
    """Who says where a limit lies: source, owner, and origin word (measured, computed, assumed, common practice)."""

    source: str
    owner: str
    origin: str


BALLOON = Authority(source="the equations of the steady balloon and the traveller", owner="physics", origin="computed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The room to one limit at the place of the doff where it is least, SI in the kind's quantity.

    ``room`` is negative where the limit is passed, None with the reason in ``not_met`` where there is none to give.
    ``value`` is what stands against ``limit`` at that place. ``scale`` is the whole way to the limit in the same
    quantity: room / scale orders the limits. ``low`` and ``high`` are the ends of the room over the friction band.
    """

    kind: Kind
    authority: Authority
    place: Place | None = None
    room: float | None = None
    value: float | None = None
    limit: float | None = None
    scale: float = 1.0
    low: float | None = None
    high: float | None = None
    band: str = ""
    """What the interval spans, as "ring friction 0.08 to 0.13"."""
    not_met: str = ""
    remark: str = ""
    """What must be said with the room, such as at how many places it is not known; empty, or whole sentences."""

    def __post_init__(self) -> None:
        if (self.room is None) != bool(self.not_met):
            raise ValueError(f"the limit {self.name} needs either its room or the reason why there is none")
        if self.room is not None and None in (self.place, self.value, self.limit):
            raise ValueError(f"the room to the limit {self.name} needs its place, its value and its limit")

    @property
    def key(self) -> str:
        """Lasting name of the limit, for programs."""
        return self.kind.key

    @property
    def name(self) -> str:
        """Name of the limit in trade words."""
        return self.kind.name

    @property
    def quantity(self) -> str:
        """Quantity of the room, the value and the limit, as the table of units names it."""
        return self.kind.quantity

    @property
    def unit(self) -> str:
        """Trade unit in which the room is told."""
        return self.kind.unit

    @property
    def source(self) -> str:
        """Where the limit comes from."""
        return self.authority.source

    @property
    def owner(self) -> str:
        """Who answers for the limit."""
        return self.authority.owner

    @property
    def origin(self) -> str:
        """Origin word of the limit; the room itself is always computed."""
        return self.authority.origin

    @property
    def used(self) -> float | None:
        """Share of the way to the limit that is used: 1 at the limit, more beyond it; None without a room."""
        return None if self.room is None else 1 - self.room / self.scale

    @property
    def used_interval(self) -> tuple[float, float] | None:
        """Least and most of the share used over the friction band; None where the band does not move the room."""
        if self.low is None or self.high is None:
            return None
        return 1 - self.high / self.scale, 1 - self.low / self.scale

    @property
    def words(self) -> str:
        """Tell the room without its place: "26.0 mg lighter", "passed by 2.1 mm", or why there is none."""
        if self.room is None:
            return self.not_met
        if self.room < 0:
            return f"passed by {told(-self.room, self.kind)}"
        return f"{told(self.room, self.kind)} {self.kind.more}".rstrip()

    @property
    def interval_words(self) -> str:
        """Tell the interval as ``words`` tell the room, "24.2 to 30.7"; empty where its ends read the same."""
        if self.low is None or self.high is None:
            return ""
        low, high = (_figures(abs(end), self.kind) for end in (self.low, self.high))
        if self.low < 0 <= self.high:
            return f"passed by {low} to room of {high}"
        if low == high:
            return ""
        return f"{low} to {high}" if self.low >= 0 else f"{high} to {low}"

    @property
    def sentence(self) -> str:
        """Tell the room, its interval, its place, and what stands against what."""
        remark = f" {self.remark}" if self.remark else ""
        if self.room is None or self.place is None or self.value is None or self.limit is None:
            return f"{self.name}: {self.not_met}.{remark}"
        span = f" ({self.interval_words} over {self.band})" if self.interval_words else ""
        against = f"{self.kind.measured} {told(self.value, self.kind)}"
        if self.limit:
            against += f", limit {told(self.limit, self.kind)}"
        return f"{self.name}: {self.words}{span} at {self.place.words}; {against}.{remark}"


def told(value: float, kind: Kind) -> str:
    """Tell a value of a kind's quantity in its unit, or the one chosen in its place.

    To one decimal; speeds of rotation to none, inches to three.
    """
    return f"{_figures(value, kind)}{NARROW_SPACE}{chosen(kind.unit)}"


def _figures(value: float, kind: Kind) -> str:
    unit = chosen(kind.unit)
    return show_number(in_unit(value, kind.quantity, unit), _DECIMALS.get(unit, 1))


def place_of(doff: Doff, index: int) -> Place:
    """Say where in the doff the place with this number is."""
    places, phase = doff.places, float(doff.places.phase[index])
    rise = doff.problem.rise_share
    part = "foot" if phase == 0 else "top" if phase == rise else "rise" if phase < rise else "fall"
    return Place(
        index=int(index),
        time=float(places.time[index]),
        stroke=int(places.stroke[index]),
        part=part,
        winding_diameter=float(places.winding_diameter[index]),
    )


def nearest_first(rooms: Iterable[Room]) -> tuple[Room, ...]:
    """Sort by the share of the way to the limit that is used, most first; limits without a room stand last as given."""
    return tuple(sorted(rooms, key=lambda room: (room.used is None, -(room.used or 0.0))))
