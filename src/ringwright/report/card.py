"""The setting card as data: one sheet that a shift reads at arm's length beside the frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ringwright.report.limits_chart import Room
from ringwright.report.number import Number, Origin
from ringwright.report.position_inputs import PositionFigure
from ringwright.report.tension_chart import TensionFigure

__all__ = ["BigSetting", "Card", "Caution", "Reading", "Row", "Source", "Statement", "Wheel"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """A value told in words, with where it came from and the key of its source."""

    words: str
    origin: Origin
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BigSetting:
    """One of the five settings to read from afar, with a short note below it."""

    name: str
    number: Number
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A named setting or result."""

    name: str
    value: Number | Statement


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """A change wheel: its teeth, what it gives, and the error that it leaves in a named quantity."""

    name: str
    teeth: Number
    gives: Number
    leaves: Number
    leaves_in: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A place in the doff where the tension meter is to be read, and what is expected there."""

    place: str
    expected: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A safety caution: the act first, then the rest of the sentence and whose rules come first."""

    act: str
    rest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A source of numbers on the card: the key that numbers carry, and how it is cited."""

    key: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """Everything on the sheet; ``block`` is the title block's labels and words, empty words leave a place to write.

    Raises ValueError unless there are five big settings and every source key is in the list of sources.
    """

    mill: str
    frame: str
    yarn: str
    setting: str
    subtitle: str
    big: Sequence[BigSetting]
    position: PositionFigure
    settings: Sequence[Row]
    wheels: Sequence[Wheel]
    rooms: Sequence[Room]
    interval_spans: str
    tension: TensionFigure
    readings: Sequence[Reading]
    checks: Sequence[str]
    cautions: Sequence[str]
    stop: Caution
    block: Sequence[tuple[str, str]]
    sources: Sequence[Source]
    made_by: str

    def __post_init__(self) -> None:
        if len(self.big) != 5:
            raise ValueError(f"a card has five big settings, not {len(self.big)}")
        known = {source.key for source in self.sources}
        missing = sorted({key for key in self.source_keys() if key} - known)
        if missing:
            raise ValueError(f"the card's list of sources lacks {', '.join(missing)}")

    def values(self) -> list[Number | Statement]:
        """Gather every number and statement on the card that carries an origin."""
        drawn = [c.number for c in self.position.callouts] + [h.number for h in self.position.heights]
        wheels = [n for w in self.wheels for n in (w.teeth, w.gives, w.leaves)]
        rooms = [r.room for r in self.rooms if r.room is not None]
        rows = [row.value for row in self.settings]
        return [*(b.number for b in self.big), *drawn, *rows, *wheels, *rooms, *(r.expected for r in self.readings)]

    def source_keys(self) -> list[str]:
        """Gather the source keys that the card's numbers carry."""
        return [value.source for value in self.values()]
