"""Read a round of centring readings: each row the place of one part against the spindle, in one of three ways."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.centring.direction import from_clock, read_clock
from ringwright.centring.side import sides_of
from ringwright.events.round_table import AsideLine, Column, RoundRow, read_round_table
from ringwright.mill import Frame
from ringwright.refusal import Fault
from ringwright.units import show

__all__ = ["PARTS", "Reading", "ReadingsTaken", "read_centring"]

PARTS = ("ring", "guide", "control ring")
_WORDS = {
    "ring": "ring", "guide": "guide", "thread guide": "guide", "lappet": "guide", "control ring": "control ring",
}  # fmt: skip
MOST = 10e-3
"""A part farther off than this [m] is no reading of centring."""

_AROUND = ("at 12", "at 3", "at 6", "at 9")
_ROUND_SLACK = 6.0
"""Two cross sums of four gauge readings scatter by twice one reading's standard deviation each way: three of those."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading understood: its line and text, spindle, part, and where the part's centre stands off the axis [m].

    ``weight`` is the number of plain readings that it counts for.
    """

    line: int
    text: str
    spindle: int
    part: str
    along: float
    out: float
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingsTaken:
    """The readings of a text, the lines set aside with their reasons, and what is odd about the whole."""

    name: str
    readings: tuple[Reading, ...]
    set_aside: tuple[AsideLine, ...]
    notes: tuple[str, ...]


def read_centring(text: str, name: str, frame: Frame) -> ReadingsTaken:
    """Read the readings of a frame from a text; ``name`` is the file's name, or what stands for a typed text.

    Columns: spindle, part (ring, guide, control ring), and dx with dy; or clock with amount; or what the gauge shows
    at 12 and at 3, perhaps with at 6 and at 9. A column frame may stand there too. Refusal as ``read_round_table``
    where nothing can be read; a row that cannot be used is set aside.
    """
    table = read_round_table(text, name, _columns(frame))
    readings, set_aside = [], list(table.set_aside)
    for row in table.rows:
        found = _reading(row, f"{name}, line {row.line}", frame)
        if isinstance(found, Fault):
            set_aside.append(AsideLine(line=row.line, text=row.text, reason=str(found)))
        else:
            readings.append(found)
    return ReadingsTaken(
        name=name, readings=tuple(readings), notes=table.notes,
        set_aside=tuple(sorted(set_aside, key=lambda one: one.line)),
    )  # fmt: skip


def _columns(frame: Frame) -> dict[str, Column]:
    count = int(frame.spindles)
    length = Column(quantity="length", needed=False, low=-MOST, high=MOST,
                    range=f"from -{show(MOST, 'length', 'mm')} to {show(MOST, 'length', 'mm')}")  # fmt: skip
    words = tuple(word for word, part in _WORDS.items() if part != "control ring" or frame.control_ring is not None)
    spindle = f"a spindle of {frame.name}, a whole number from 1 to {count}"
    return {
        "spindle": Column(whole=True, low=1, high=count, range=spindle),
        "part": Column(words=words),
        "dx": length,
        "dy": length,
        "clock": Column(needed=False),
        "amount": length,
        **dict.fromkeys(_AROUND, length),
        "frame": Column(needed=False, words=(frame.name,)),
        "note": Column(needed=False),
    }


def _reading(row: RoundRow, where: str, frame: Frame) -> Reading | Fault:
    """Understand one row."""
    numbers, sides = row.numbers, sides_of(frame)
    spindle = int(numbers["spindle"])
    ways = {
        "dx and dy": ("dx" in numbers, "dy" in numbers),
        "clock and amount": ("clock" in row.words, "amount" in numbers),
        "at 12 and at 3": ("at 12" in numbers, "at 3" in numbers),
    }
    begun = [way for way, there in ways.items() if any(there)]
    wants = f"one reading, as {', '.join(ways)}"
    if len(begun) != 1:
        got = "without a reading" if not begun else f"with {' as well as '.join(begun)}"
        return Fault(where=where, got=got, wants=wants, mend="Give each row one kind of reading.")
    if not all(ways[begun[0]]):
        return Fault(where=where, got=f"with half of {begun[0]}", wants=wants, mend="Give both, 0 where it is centred.")
    read = {"dx and dy": _plain, "clock and amount": _by_clock, "at 12 and at 3": _around}[begun[0]]
    found = read(row, where, sides.hand(spindle), frame)
    if isinstance(found, Fault):
        return found
    along, out, weight = found
    part = _WORDS[row.words["part"]]
    return Reading(line=row.line, text=row.text, spindle=spindle, part=part, along=along, out=out, weight=weight)


Found = tuple[float, float, float] | Fault


def _plain(row: RoundRow, _where: str, _hand: int, _frame: Frame) -> Found:
    return row.numbers["dx"], row.numbers["dy"], 1.0


def _by_clock(row: RoundRow, where: str, hand: int, _frame: Frame) -> Found:
    hours, amount = read_clock(row.words["clock"]), row.numbers["amount"]
    if hours is None:
        wants = "a place on the clock from 1 to 12, as 4, 4.5 or 4:30"
        return Fault(where=f"{where}, clock", got=f'"{row.words["clock"][:40]}"', wants=wants)
    if amount < 0:
        mend = "For the other way, name the clock place across."
        return Fault(where=f"{where}, amount", got=show(amount, "length", "mm"), wants="0 or more", mend=mend)
    return (*from_clock(hours, amount, hand), 1.0)


def _around(row: RoundRow, where: str, hand: int, frame: Frame) -> Found:
    """Read what a gauge on the spindle shows at the part: more where the part stands farther from the spindle."""
    at = [row.numbers.get(name) for name in _AROUND]
    top, right, bottom, left = at
    if top is None or right is None or (bottom is None) != (left is None):
        wants = "at 12 and at 3, or all of at 12, at 3, at 6, at 9"
        return Fault(where=where, got="with half of at 6 and at 9", wants=wants)
    if bottom is None or left is None:
        return hand * right, -top, 1.0
    apart, slack = abs((top + bottom) - (right + left)), _ROUND_SLACK * frame.centring.gauge_repeatability
    if apart > slack:
        got = f"read so that at 12 + at 6 and at 3 + at 9 differ by {show(apart, 'length', 'mm')}"
        wants = f"read so that they differ by at most {show(slack, 'length', 'mm')}, as in a round ring"
        return Fault(where=where, got=got, wants=wants, mend="Read it again; is the ring round and the gauge firm?")
    return hand * (right - left) / 2, -(top - bottom) / 2, 2.0
