"""Centring as a page: a round typed, pasted or sent as a file, judged, and kept where the server has a store."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from ringwright.mill import Mill
from ringwright.refusal import Fault, Refusal
from ringwright.report.sheets.sheet import Sheet
from ringwright.units import written_in
from ringwright.verbs.app import DEMO
from ringwright.verbs.centring import AskedCentring, centring_of, line_faults, store_there, with_in_time
from ringwright.workbench.parts.part import Part, PartField

__all__ = [
    "HEADS", "PART", "PARTS_READ", "TypedReading", "TypedRound",
    "demo_frames", "judge_typed", "line_added", "run_in_time",
]  # fmt: skip

HEADS: Final[Mapping[str, tuple[str, str]]] = {
    "dx and dy": ("dx", "dy"), "clock and amount": ("clock", "amount"), "at 12 and at 3": ("at 12", "at 3"),
}  # fmt: skip
"""The ways to read a spindle, each with the names of its two columns."""

PARTS_READ: Final = ("ring", "guide", "control ring")
_WITHOUT_UNIT: Final = ("clock",)
_MOST_DIGITS: Final = 7


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedRound:
    """A round as the page has it: the text and its file's name, day, reader and note, and what is asked with it.

    ``shown`` is "" for the text, "demo" for the demonstration's rounds, "kept" for those of the store.
    """

    text: str = ""
    name: str = ""
    when: str = ""
    by: str = ""
    note: str = ""
    shown: str = ""
    store: str = ""
    keep: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedReading:
    """One reading as it is typed at the frame: spindle, part, way of reading, its two numbers, and their unit."""

    spindle: str
    part: str
    way: str
    first: str
    second: str
    unit: str = "mm"


def judge_typed(mill: Mill, where: str, frame: str, yarn: str, typed: TypedRound) -> tuple[Sheet, str]:
    """Judge a round of the page, and keep it if asked; gives the sheet and what became of the round."""
    if typed.shown == "demo" and where != DEMO:
        raise Refusal(Fault(where="the round", got="the demonstration's", wants="one of this mill's own"))
    if typed.keep and not typed.text.strip():
        mend = "Type readings, or send a file."
        raise Refusal(Fault(where="the readings", got="empty", wants="a round to keep", mend=mend))
    found = centring_of(mill, where, (frame, yarn), _asked(typed))
    return found.sheet, found.kept


def _asked(typed: TypedRound) -> AskedCentring:
    """Put a round of the page as the command line asks."""
    looked_at = typed.shown == "kept" or (typed.shown == "" and store_there(typed.store))
    return AskedCentring(
        text="" if typed.shown else typed.text, name=typed.name, when=typed.when, by=typed.by, note=typed.note,
        keep=typed.store if typed.keep else "", rounds=typed.store if looked_at else "",
        frame_alone=not typed.shown and not typed.text.strip(),
    )  # fmt: skip


def demo_frames(where: str, frames: Iterable[str]) -> tuple[str, ...]:
    """Name the frames of which the demonstration has a round of its own; none of another mill."""
    from ringwright.floor_demo.centring import ROUNDS  # noqa: PLC0415 - only the demonstration's page asks

    known = {path.name.split("_")[1] for path in ROUNDS.glob("centring_*.csv")} if where == DEMO else set()
    return tuple(name for name in frames if name in known)


def run_in_time(
    names: tuple[str, str, str], mill: Mill, typed: TypedRound, spindle: str, units: tuple[str, ...],
    say: Callable[[str], None], _: Callable[[], bool],
) -> Sheet:  # fmt: skip
    """Judge a round and run one of its spindles through time; ``names`` are the mill's place, the frame and the yarn.

    Refusal for a spindle that is no number, or was not read. A few seconds, minutes where the C kernel is not there.
    """
    where, frame, yarn = names
    if not spindle.isascii() or not spindle.isdigit() or len(spindle) > _MOST_DIGITS:
        wants = "the number of a spindle that was read"
        raise Refusal(Fault(where="--in-time", got=f'"{spindle}"' if spindle else "empty", wants=wants))
    say("Judging the round.")
    with written_in(units):
        found = centring_of(mill, where, (frame, yarn), _asked(replace(typed, keep=False)))
        say(f"Running spindle {spindle} through time, turn by turn.")
        return with_in_time(found, int(spindle)).sheet


def line_added(text: str, one: TypedReading, mill: Mill, frame: str) -> tuple[str, tuple[str, ...]]:
    """Add a reading to the text of a round as its last line, under a heading made for the first.

    Gives the text and what is wrong with the reading, in sentences; with a fault the text stays as it was. A reading
    is held against what a row of a file must be, so that what stands in the text can be used.
    """
    if one.way not in HEADS or one.part not in PARTS_READ:
        return text, ("The reading has a way or a part that this page does not know; choose one of those listed.",)
    head = ",".join(("spindle", "part", *(_headed(name, one.unit) for name in HEADS[one.way])))
    there = next((line for line in text.splitlines() if line.strip() and not line.startswith("#")), "")
    if there and there.replace(" ", "") != head.replace(" ", ""):
        fault = Fault(
            where="the reading", got=f"{one.way} in {one.unit}", wants=f'as the heading so far says, "{there}"',
            mend="Choose that way and unit, or judge or keep those readings first.",
        )  # fmt: skip
        return text, (str(fault),)
    line = ",".join(cell.replace(",", ".").strip() for cell in (one.spindle, one.part, one.first, one.second))
    faults = line_faults(f"{head}\n{line}\n", mill, frame)
    if faults:
        return text, faults
    return (text.rstrip() + "\n" if there else f"{head}\n") + line + "\n", ()


def _headed(name: str, unit: str) -> str:
    return name if name in _WITHOUT_UNIT else f"{name} ({unit})"


def _sheet(mill: Mill, frame: str, yarn: str, typed: Mapping[str, str]) -> Sheet:
    return judge_typed(mill, "", frame, yarn, TypedRound(text=typed.get("readings", "")))[0]


PART = Part(
    key="centring", name="Centring", sheet=_sheet,
    question="Which spindles stand off their ring, guide or control ring, and what does it do to the tension?",
    fields=(
        PartField(key="readings", label="Readings", long=True, start=lambda *_: "",
                  hint="spindle, part, dx (mm), dy (mm): a heading, then a line for each reading"),
    ),
)  # fmt: skip
