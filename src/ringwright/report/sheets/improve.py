"""Better parts on one sheet: what to change first, what it is worth, the front, and the limits that hold it."""

from __future__ import annotations

from ringwright.improve.better import PartsStudy
from ringwright.improve.drive import RPM
from ringwright.improve.parts import Axis
from ringwright.improve.run import Run
from ringwright.improve.worth import worth
from ringwright.report.front_chart import front_chart
from ringwright.report.sheets.improve_tables import front_figures, improve_tables
from ringwright.report.sheets.rows import COMPUTED, cautions_of, percent, row
from ringwright.report.sheets.sheet import Picture, Row, Sheet
from ringwright.report.sheets.worth_notes import COST_NOTE, breaks_note
from ringwright.units import show, show_number

__all__ = ["improve_sheet"]

REACH = (
    "The reach of the parts is assumed: traveller over the usual masses for the count (Baraiya 2016), rails and rings "
    "by a few steps of what is set. Say what your frame allows (--reach), or keep a part as it is (--keep)."
)
WIDTH = 640.0
SOFTER = "A lighter traveller winds a softer cop and may need another profile: neither is computed."
AIMS = {
    "production": "most production",
    "cost": "least cost of a kilogram",
    "tension": "least peak tension at equal production",
}


def improve_sheet(study: PartsStudy) -> Sheet:
    """Tell a study: the answer, what each part alone would do, the front, what each limit would pay, what to mind."""
    question = study.question
    figures = [
        Picture(title=f"Trade-off: {name}", svg=front_chart(one, width=WIDTH), words=_said(name), key=name, headed=True)
        for name, one in front_figures(study).items()
    ]
    return Sheet(
        title=f"{question.frame}, {question.yarn}: what to change for {AIMS[question.aim]}",
        answer=_first(study),
        rows=_rows(study),
        tables=improve_tables(study),
        pictures=tuple(figures),
        warnings=_warnings(study),
        notes=_notes(study),
        cautions=cautions_of(study.best.choice),
    )


def _said(name: str) -> str:
    return f"The least {name} of all candidates for a production, with the best parts and with the parts as set."


def _first(study: PartsStudy) -> str:
    """Say in a sentence or two what to change first and what it is worth."""
    words, then = _speeds(study)
    mending = [one for one in study.singles if one.mends]
    if mending and study.speeds_alone is None:
        words += _mending(study, f"{then} {_set_to(mending[0].axis, mending[0].step)}")
    elif study.first is not None and study.as_set is not None:
        one = study.singles[0]
        words.append(f"{then} {_set_to(one.axis, one.step)}: {_cost_words(study.as_set, study.first, study)}")
    elif study.singles:
        words.append(_calmer(study, then))
    if study.first is not None and [(one.axis, one.step) for one in study.singles[:1]] == list(study.changed):
        words.append("No other change adds to it.")
    elif study.as_set is not None:
        words.append(_worth(study, study.as_set))
    return " ".join(words)


def _speeds(study: PartsStudy) -> tuple[list[str], str]:
    """Say what the best speeds alone bring, and the word that the next sentence begins with."""
    before, alone = study.as_set, study.speeds_alone
    if study.question.aim == "production" and before is not None and alone is not None:
        gain = alone.production / before.production - 1
        if gain > 0.005:
            return [f"First set the best speeds: with the parts as they are they make {percent(gain)} yarn."], "Then"
    return [], "First"


def _mending(study: PartsStudy, change: str) -> list[str]:
    words = [f"{change}: alone it keeps every limit, which the parts as set do not."]
    before, first = study.as_set, study.first
    if first is not None and first.cost is not None and before is not None and before.cost is not None:
        old, new = (show_number(cost.total, 3) for cost in (before.cost, first.cost))
        words.append(f"A kilogram then costs {new} in place of {old} {study.question.mill.money.currency}.")
    return words


def _calmer(study: PartsStudy, then: str) -> str:
    one, base = study.singles[0], study.tension_with_parts_as_set
    if one.tension >= 0.99 * base:
        return "No part alone is worth changing: none takes 1 % off the peak tension at the same speed."
    speed = show(round(study.speed / RPM) * RPM, "rotation", "rpm", 0)
    return (
        f"{then} {_set_to(one.axis, one.step)}: alone it takes the peak tension from {_cn(base)} to "
        f"{_cn(one.tension)} ({percent(one.tension / base - 1)}) at the same {speed} mean speed."
    )


def _cn(force: float) -> str:
    return show(force, "force", "cN", 1)


def _worth(study: PartsStudy, before: Run) -> str:
    best = study.best
    told = (
        f"All changes together: production {percent(best.production / before.production - 1)}, "
        f"peak tension {percent(best.tension / before.tension - 1)}, "
        f"traveller heat {percent(best.heat / before.heat - 1)}"
    )
    if best.cost is None or before.cost is None:
        return told + "."
    told += f", cost of a kilogram above the roving {percent(best.cost.total / before.cost.total - 1)}"
    return f"{told}; {_yearly_words(before, best, study)}."


def _cost_words(before: Run, after: Run, study: PartsStudy) -> str:
    """Say what one change does to the cost of a kilogram, to production, and in a year; "" for runs without a price."""
    if before.cost is None or after.cost is None:
        return ""
    old, new = before.cost.total, after.cost.total
    if new >= old:
        dearer = percent(new / old - 1)
        return f"no part alone makes a kilogram cheaper; this one, with the speeds set anew, costs {dearer}."
    return (
        f"alone, with the speeds set anew, a kilogram costs {show_number(new, 3)} in place of {show_number(old, 3)} "
        f"{study.question.mill.money.currency} ({percent(new / old - 1)}) at "
        f"{percent(after.production / before.production - 1)} yarn; {_yearly_words(before, after, study)}."
    )


def _yearly_words(before: Run, after: Run, study: PartsStudy) -> str:
    """Say what the whole frame gains in a year."""
    mill, frame = study.question.mill, after.choice.frame
    gain = worth(before, after, frame.spindles, mill.money)
    money = f"{show_number(abs(gain.money), 0)} {mill.money.currency}"
    yarn = f"{show_number(abs(gain.yarn) / 1000, 1)} t {'more' if gain.yarn >= 0 else 'less'} yarn"
    way = "earned more" if gain.by_price else "saved on the yarn made now"
    lost = "earned less" if gain.by_price else "more for the yarn made now"
    return f"for {frame.name} in a year {money} {way if gain.money >= 0 else lost}, and {yarn}"


def _set_to(axis: Axis, step: int) -> str:
    new, now = (axis.told(at) for at in (step, axis.present))
    return f"set the {axis.name} to {new} (now {now})"


def _rows(study: PartsStudy) -> tuple[Row, ...]:
    """Tell the best run, and the candidates that were tried."""
    best, currency = study.best, study.question.mill.money.currency
    rows = [
        row("Yarn of one spindle, best parts and speeds", best.production, ("output", "g/h"), 1),
        row("Peak tension then", best.tension, ("force", "cN"), 1),
        row("Traveller heat then", best.heat, ("power", "W"), 1),
    ]
    if best.cost is not None:
        cost = best.cost.total
        rows.append(Row(name="Cost of a kilogram then, above the roving", value=show_number(cost, 3),
                        unit=f"{currency}/kg", origin=COMPUTED, raw=cost))  # fmt: skip
    keeps, tried = int(study.found.tried.keeps.sum()), len(study.found.picks)
    rows.append(Row(name="Candidates tried", value=show_number(tried, 0), unit="", origin=COMPUTED, raw=float(tried),
                    note=f"{keeps} keep every limit; the search ended because {study.found.ended}"))  # fmt: skip
    return tuple(rows)


def _warnings(study: PartsStudy) -> tuple[str, ...]:
    told = [f"As set: {breach.words}" for breach in study.breaches]
    if study.lacking:
        told.append(f"The parts as set lack {' and '.join(study.lacking)}.")
    if study.at_end:
        names = "; ".join(axis.name for axis in study.at_end)
        told.append(f"At the end of its reach: {names}. A wider reach might give more.")
    return tuple(told)


def _notes(study: PartsStudy) -> tuple[str, ...]:
    low = study.best.choice.frame.ring.friction_low
    priced = (breaks_note(study.question.counted), COST_NOTE) if study.best.cost is not None else ()
    return (
        REACH,
        f"Every answer is steady and clear of the plates down to ring friction {low:g}. {SOFTER}",
        "The front's speeds follow the limits from stroke to stroke; the runs above are those of the drive.",
        *priced,
    )
