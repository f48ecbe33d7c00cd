"""The verbs about trials that the doors may ask for: plan how many shifts one needs, and judge it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from ringwright.verbs.asked import DEMO, Asked

if TYPE_CHECKING:
    from ringwright.findings.finding import Answer
    from ringwright.refusal import Fault
    from ringwright.report.sheets.sheet import Sheet
    from ringwright.study.trial import ShiftSpread, TrialPlan
    from ringwright.study.trial_verdict import ShiftRow

# Each verb imports what it needs as it is called: the libraries of statistics take seconds to load.
# ruff: noqa: PLC0415

__all__ = ["AskedPlan", "AskedVerdict", "Verdict", "plan_sheet", "plan_trial", "verdict", "verdict_sheet"]

Answered = TypeVar("Answered")
PASTED = "the table"


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedPlan:
    """What is asked of a plan, each as it was typed: change to be seen, chance to see it, share of false alarms.

    The scatter comes from ``records``; without them ``breaks`` (of one frame in one shift), ``common`` and ``own`` (the
    scatter that frames share, and that of one frame alone) state it.
    """

    change: str = "-20 %"
    power: str = "80 %"
    level: str = "5 %"
    records: Asked | None = None
    breaks: str = ""
    common: str = ""
    own: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedVerdict:
    """A trial to judge: a file, or the text of a table; the old setting (the first one unless named), the change.

    With ``records`` the table says which setting ran on which frame from when to when, and the breaks are those of the
    records; without, it holds the breaks of each frame and shift.
    """

    path: str = PASTED
    text: str | None = None
    old: str = ""
    change: str = "-20 %"
    records: Asked | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """How a trial was judged, and the rows that say so; ``old`` is the setting that the other is held against."""

    answer: Answer
    rows: tuple[ShiftRow, ...]
    old: str


def plan_trial(asked: AskedPlan) -> TrialPlan:
    """Plan how many shifts a trial needs; Refusal with every fault of what was typed."""
    from ringwright.refusal import Refusal
    from ringwright.study.trial import ShiftSpread
    from ringwright.study.trial import plan_trial as planned

    faults: list[Fault] = []
    ratio = _held(lambda: _ratio(asked.change), 0.8, faults)
    power = _held(lambda: _share(asked.power, "--power", 0.05, 0.999), 0.8, faults)
    level = _held(lambda: _share(asked.level, "--level", 0.0001, 0.499), 0.05, faults)
    if asked.records is not None:
        if faults:
            raise Refusal(faults)
        return planned(ratio, _spread_of(asked.records), power, level)
    spread = ShiftSpread(
        breaks=_held(lambda: _count(asked.breaks), 1.0, faults),
        common=_held(lambda: _share(asked.common, "--shift-spread", 0.0, 5.0), 0.0, faults),
        own=_held(lambda: _share(asked.own, "--frame-spread", 0.0, 5.0), 0.0, faults),
    )
    if faults:
        raise Refusal(faults)
    return planned(ratio, spread, power, level)


def _held(read: Callable[[], Answered], without: Answered, faults: list[Fault]) -> Answered:
    """Read a field; what is wrong is added to the faults, and ``without`` stands in for it."""
    from ringwright.refusal import Refusal

    try:
        return read()
    except Refusal as refusal:
        faults += refusal.faults
        return without


def _ratio(change: str) -> float:
    from ringwright.refusal import Fault, Refusal
    from ringwright.units import parse

    ratio = 1 + parse(change, "share", "--change")
    if not 0 < ratio <= 10 or abs(ratio - 1) < 0.01:
        wants = "more than 1 %, up or down, above -100 % and up to 900 %"
        raise Refusal(Fault(where="--change", got=f'"{change}"', wants=wants))
    return ratio


def _share(given: str, where: str, low: float, high: float) -> float:
    from ringwright.refusal import Fault, Refusal
    from ringwright.units import parse

    value = parse(given, "share", where)
    if not low <= value <= high:
        mend = f'Write it as "{given.strip()} %".' if "%" not in given and low <= value / 100 <= high else ""
        wants = f"from {100 * low:g} % to {100 * high:g} %"
        raise Refusal(Fault(where=where, got=f'"{given}"', wants=wants, mend=mend))
    return value


def _count(given: str) -> float:
    from ringwright.refusal import Fault, Refusal

    try:
        value = float(given)
    except ValueError:
        value = 0.0
    if not 0 < value <= 1e6:
        wants = "the breaks of one frame in one shift, above 0 and up to 1000000"
        raise Refusal(Fault(where="--breaks", got=f'"{given}"' if given else "empty", wants=wants))
    return value


def _spread_of(asked: Asked) -> ShiftSpread:
    """Find how the shifts of a mill's records scatter; shifts that stand out are left out."""
    from ringwright.study.cells import by_shift
    from ringwright.study.shifts import odd_shifts
    from ringwright.study.trial import shift_spread
    from ringwright.verbs.floor import open_records

    cells = open_records(asked).records.cells
    odd = odd_shifts(cells)
    return shift_spread([by_shift(one, odd) for one in cells])


def plan_sheet(asked: AskedPlan) -> Sheet:
    """Put the plan of a trial on a sheet, to print and to keep to."""
    from ringwright.report.sheets.trial import plan_sheet as sheet

    return sheet(plan_trial(asked), _origin(asked.records))


def verdict(asked: AskedVerdict) -> Verdict:
    """Judge a trial; Refusal that names every line that cannot be used."""
    from ringwright.refusal import Refusal
    from ringwright.study.trial_verdict import judge_trial

    faults: list[Fault] = []
    ratio = _held(lambda: _ratio(asked.change), 0.8, faults)
    rows: list[ShiftRow] = _held(lambda: _rows(asked), [], faults)
    if faults:
        raise Refusal(faults)
    old = asked.old.strip() or rows[0].setting
    return Verdict(answer=judge_trial(rows, old, ratio), rows=tuple(rows), old=old)


def _rows(asked: AskedVerdict) -> list[ShiftRow]:
    from ringwright.study.trial_rows import read_trial

    if asked.records is None:
        return read_trial(asked.path, asked.text)
    from ringwright.study.trial_plan import read_runs, rows_of_runs
    from ringwright.verbs.floor import known, open_records

    runs = read_runs(asked.path, asked.text)
    frames = tuple(dict.fromkeys(run.frame for run in runs))
    got = open_records(replace(asked.records, frames=frames))
    known(frames, [cells.frame for cells in got.records.cells], "the frame with records")
    return rows_of_runs(runs, got.records.cells, got.shift_h)


def verdict_sheet(asked: AskedVerdict) -> Sheet:
    """Put the verdict on a sheet, with what each setting did on each frame and in each shift."""
    from ringwright.report.sheets.trial import verdict_sheet as sheet

    found = verdict(asked)
    return sheet(found.answer, found.rows, found.old, _origin(asked.records) or f"counts in {asked.path}")


def _origin(records: Asked | None) -> str:
    if records is None:
        return ""
    if records.records == DEMO:
        return "the demonstration's invented records"
    return f"the records in {records.records}"
