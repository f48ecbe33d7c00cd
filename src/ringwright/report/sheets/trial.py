"""The sheets of a trial: its plan, to print and to keep to, and its verdict with the shifts that it rests on."""

from __future__ import annotations

from collections.abc import Sequence

from ringwright.findings.finding import Answer
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.report.trial_figure import trial_figure
from ringwright.study.trial import TrialPlan
from ringwright.study.trial_verdict import ShiftRow
from ringwright.units.showing import show_number

__all__ = ["plan_sheet", "verdict_sheet"]

_METHOD = (
    "Shifts by the noncentral law of Student's t, with the scatter of shifts as it is and the chance of single breaks "
    "on top; held to simulated trials."
)
_JUDGED = (
    "Judged by shift: counts with the scatter that is left after frame and shift are taken out (quasi-Poisson, "
    "Student's t)."
)
_KEEP_TO_IT = (
    "Settle the number of shifts before the first one and keep to it: who looks every day and stops at the first good "
    "sign praises chance."
)


def plan_sheet(plan: TrialPlan, origin: str) -> Sheet:
    """Put a plan on a sheet; ``origin`` names the records that the scatter comes from, empty where it was stated."""
    change, beside = f"{plan.ratio - 1:+.0%}".replace("%", " %"), plan.side_by_side
    return Sheet(
        title="Plan of a trial",
        answer=f"To see a change of {change} in the break rate, run two frames side by side for {beside} shifts, "
        f"the settings swapped after {beside // 2}. One after the other on one frame it takes {plan.before_after} "
        f"shifts with each setting, and whatever else changes between would count as the setting.",
        rows=_plan_rows(plan, origin),
        tables=(_turns(beside),),
        notes=(
            "Swap the settings half way, else a difference of the frames is taken for one of the settings.",
            _KEEP_TO_IT,
            f"Of a hundred trials of an idle setting {100 * plan.level:.0f} are called likely all the same.",
        ),
        sources=(_METHOD,),
    )  # fmt: skip


def _plan_rows(plan: TrialPlan, origin: str) -> tuple[Row, ...]:
    spread = plan.spread
    frames = f"{spread.frames} {'frame' if spread.frames == 1 else 'frames'}"
    measured = f"measured, in {spread.shifts} shifts of {frames} of {origin}" if spread.shifts else "assumed, as stated"
    return (
        Row(name="Side by side, two frames in the same shifts", value=str(plan.side_by_side), unit="shifts",
            origin="computed", raw=float(plan.side_by_side)),
        Row(name="One after the other, one frame", value=str(plan.before_after), unit="shifts of each setting",
            origin="computed", raw=float(plan.before_after)),
        Row(name="Chance to see the change if it is there", value=f"{100 * plan.power:.4g}", unit="%",
            origin="assumed, as asked", raw=plan.power),
        Row(name="Chance to call a change likely where there is none", value=f"{100 * plan.level:.4g}", unit="%",
            origin="assumed, as asked", raw=plan.level),
        Row(name="Breaks of a frame in a shift", value=f"{spread.breaks:.0f}", unit="breaks", origin=measured,
            raw=spread.breaks),
        Row(name="Scatter of shifts that the frames share", value=f"{100 * spread.common:.0f}", unit="% (CV)",
            origin=measured, raw=spread.common),
        Row(name="Scatter of shifts of one frame alone", value=f"{100 * spread.own:.0f}", unit="% (CV)",
            origin=measured, raw=spread.own),
        Row(name="Scatter of the breaks by chance alone", value=f"{100 * spread.breaks**-0.5:.0f}", unit="% (CV)",
            origin="computed", raw=spread.breaks**-0.5),
    )  # fmt: skip


def _turns(shifts: int) -> Table:
    """Say which frame runs which setting when."""
    half = shifts // 2
    return Table(
        title="Which frame runs which setting, side by side", columns=("shifts", "one frame", "the other frame"),
        rows=((f"1 to {half}", "old", "new"), (f"{half + 1} to {shifts}", "new", "old")), origin="computed",
        note="Take two frames that spin the same yarn; which begins with which is best drawn by lot.",
    )  # fmt: skip


def verdict_sheet(answer: Answer, rows: Sequence[ShiftRow], old: str, origin: str) -> Sheet:
    """Put a verdict on a sheet; ``old`` names the setting that the other is held against."""
    word = f"{answer.sureness.value[0].upper()}{answer.sureness.value[1:]}."
    number = answer.estimate
    new = next((row.setting for row in rows if row.setting != old), "")
    ratio = () if number is None else (
        Row(name=f"Breaks with {new} against {old}", value=f"{number.value:.2f}", unit="times", origin="computed",
            raw=number.value, note=f"{number.low:.2f} to {number.high:.2f} (95 %)"),
    )  # fmt: skip
    return Sheet(
        title=f"Trial of {new} against {old}",
        answer=f"{answer.sentence} {word}",
        rows=ratio,
        pictures=(Picture(title="Shift by shift", svg=trial_figure(rows, old), words=_said(rows), headed=True),),
        tables=(_by_setting(rows),),
        notes=(f"Cannot say: {answer.cannot_say}",),
        sources=(f"Used: {answer.data_used}; {origin}.", _JUDGED),
    )


def _said(rows: Sequence[ShiftRow]) -> str:
    told = (f"{row.shift}, {row.frame}, {row.setting}: {_rate(row.breaks, row.exposure)}" for row in rows[:60])
    return f"Breaks per 1000 spindle-hours by shift. {'; '.join(told)}{'; and so on' if len(rows) > 60 else ''}."


def _rate(breaks: float, exposure: float) -> str:
    return show_number(float(f"{breaks / exposure:.3g}")) if exposure > 0 else ""


def _by_setting(rows: Sequence[ShiftRow]) -> Table:
    """Sum the shifts by setting and frame."""
    found: dict[tuple[str, str], list[ShiftRow]] = {}
    for row in rows:
        for frame in (row.frame, "all"):
            found.setdefault((row.setting, frame), []).append(row)
    told = []
    for (setting, frame), held in sorted(found.items(), key=lambda pair: (pair[0][0], pair[0][1] == "all", pair[0][1])):
        breaks, exposure = sum(row.breaks for row in held), sum(row.exposure for row in held)
        told.append((setting, frame, str(len({row.shift for row in held})), show_number(breaks),
                     show_number(round(1000 * exposure)), _rate(breaks, exposure)))  # fmt: skip
    return Table(
        title="What each setting did", rows=tuple(told), numbers=(2, 3, 4, 5), origin="measured",
        columns=("setting", "frame", "shifts", "breaks", "spindle-hours", "breaks per 1000 spindle-hours"),
        note="These sums do not take out which shifts were hard for both settings; the verdict does.",
    )  # fmt: skip
