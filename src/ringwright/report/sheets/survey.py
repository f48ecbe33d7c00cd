"""Every frame of a mill on one sheet: what to change first, and what it is worth in yarn and money a year."""

from __future__ import annotations

from collections.abc import Collection

from ringwright.improve.better import PartsStudy
from ringwright.improve.parts import Axis
from ringwright.improve.survey import Survey, Surveyed, ended_early
from ringwright.improve.worth import Worth, worth
from ringwright.report.sheets.rows import COMPUTED, cautions_of, percent
from ringwright.report.sheets.sheet import Row, Sheet, Table
from ringwright.report.sheets.worth_notes import COST_NOTE, breaks_note
from ringwright.units import show_number

__all__ = ["survey_sheet"]

NOT_TOLD = "worth not told: the setting as it is has no steady balloon throughout"


def survey_sheet(found: Survey) -> Sheet:
    """Tell each setting's first change and its worth, all changes together, and what to mind; dearest first."""
    mill = found.mill
    told = sorted(found.settings, key=lambda one: -_money(one))
    studies = [one.study for one in told if one.study is not None]
    warnings = ["The search was stopped by hand: what stands below is the best so far."] if ended_early(found) else []
    if found.left:
        warnings.append(f"Ended by hand before: {', '.join(f'{frame} {yarn}' for frame, yarn in found.left)}.")
    return Sheet(
        title=f"{mill.name}: what to change first on each frame, and what it is worth",
        answer=_answer(told, mill.money.currency),
        rows=_rows(told, mill.money.currency),
        tables=(_table("First change alone", told, mill.money.currency, first=True),
                _table("All changes together", told, mill.money.currency, first=False)),
        warnings=tuple(warnings),
        notes=_notes(found),
        cautions=tuple(dict.fromkeys(words for study in studies for words in cautions_of(study.best.choice))),
    )  # fmt: skip


def _answer(told: Collection[Surveyed], currency: str) -> str:
    top = next((one for one in told if _gain(one, first=True) is not None), None)
    gain = _gain(top, first=True) if top is not None else None
    if top is None or gain is None:
        return "No first change could be priced on any frame; the rows below say why."
    return (
        f"Worth most: {top.frame} with {top.yarn}, {_change(top)}: {_signed(gain.money, 0)} {currency} and "
        f"{_signed(gain.yarn / 1000, 1)} t of yarn a year."
    )


def _rows(told: Collection[Surveyed], currency: str) -> tuple[Row, ...]:
    rows = [
        Row(name=f"{one.frame} with {one.yarn}, first change", value=_signed(gain.money, 0), unit=f"{currency} a year",
            origin=COMPUTED, raw=gain.money)
        for one in told
        if (gain := _gain(one, first=True)) is not None
    ]  # fmt: skip
    return tuple(rows)


def _table(title: str, told: Collection[Surveyed], currency: str, *, first: bool) -> Table:
    return Table(
        title=title,
        columns=("Frame, yarn", f"{currency} a year", "t yarn a year", f"1 kg now, {currency}",
                 f"1 kg then, {currency}", "change"),
        rows=tuple((f"{one.frame}, {one.yarn}", *_worth_cells(one, first=first)) for one in told),
        origin="computed from [mill.money] and [mill.power]",
        numbers=(1, 2, 3, 4, 5),
        under=tuple(_under(one, first=first) for one in told),
    )  # fmt: skip


def _worth_cells(one: Surveyed, *, first: bool) -> tuple[str, ...]:
    gain, runs = _gain(one, first=first), _runs(one.study, first=first)
    if gain is None or runs is None:
        return ("-",) * 5
    old, new = runs
    costs = (show_number(old, 3), show_number(new, 3), percent(new / old - 1))
    return (_signed(gain.money, 0), _signed(gain.yarn / 1000, 1), *costs)


def _under(one: Surveyed, *, first: bool) -> str:
    study = one.study
    if study is None:
        return "; ".join(f"Not searched: {words}" for words in one.refused)
    words = [] if _gain(one, first=first) is not None else [f"{NOT_TOLD[:1].upper()}{NOT_TOLD[1:]}."]
    if not first:
        parts = ", ".join(_told(axis, step) for axis, step in study.changed) or "none"
        return " ".join((*words, f"All changes: {parts}."))
    if study.lacking:
        words.append(f"As set, the parts lack {' and '.join(study.lacking)}.")
    mends = "; this alone keeps every limit" if study.lacking else ""
    if study.singles:
        return " ".join((*words, f"First: {_change(one)}{mends}."))
    return " ".join((*words, "First: no part alone keeps every limit; take all changes together."))


def _told(axis: Axis, step: int) -> str:
    return f"{axis.name} {axis.told(step)}"


def _change(one: Surveyed) -> str:
    study = one.study
    if study is None or not study.singles:
        return "no part alone"
    axis, step = study.singles[0].axis, study.singles[0].step
    new = axis.told(step)
    return f"{_told(axis, axis.present)} to {new}"


def _runs(study: PartsStudy | None, *, first: bool) -> tuple[float, float] | None:
    """Give the cost of a kilogram as set and after the change; None where either has no price."""
    if study is None:
        return None
    before, after = study.as_set, study.first if first else study.best
    if before is None or after is None or before.cost is None or after.cost is None:
        return None
    return before.cost.total, after.cost.total


def _gain(one: Surveyed, *, first: bool) -> Worth | None:
    study = one.study
    if study is None or _runs(study, first=first) is None or study.as_set is None:
        return None
    after = study.first if first else study.best
    return None if after is None else worth(study.as_set, after, after.choice.frame.spindles, study.question.mill.money)


def _signed(value: float, decimals: int) -> str:
    text = show_number(value, decimals)
    return f"+{text}" if value > 0 and any(figure in text for figure in "123456789") else text


def _money(one: Surveyed) -> float:
    """Worth of the first change; settings without one stand last."""
    gain = _gain(one, first=True)
    return float("-inf") if gain is None else gain.money


def _notes(found: Survey) -> tuple[str, ...]:
    money = found.mill.money
    hours = show_number(money.spinning_time_per_year / 3600, 0)
    how = (
        "what the yarn made now costs less"
        if money.spinning_price_per_kg is None
        else "what the frame earns more at the price for spinning"
    )
    return (
        f"Money is {how}; a year has {hours} h for the whole frame with this yarn alone. Costs stand above the roving.",
        "All figures are computed from [mill.money] and [mill.power]; those of the demo mill are invented.",
        breaks_note(None),
        COST_NOTE,
        "A frame that spins several yarns has one guide and one control ring: look at all its yarns before moving one.",
        "ringwright improve MILL --frame FRAME --yarn YARN --for cost tells one setting whole.",
    )
