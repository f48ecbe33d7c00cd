"""The tables and figures of better parts: the runs, the parts, each part alone, the fronts, and the limits."""

from __future__ import annotations

import math

from ringwright.improve.answers import Front, Single
from ringwright.improve.better import PartsStudy
from ringwright.improve.drive import RPM
from ringwright.improve.run import Run, cost_of
from ringwright.report.front_chart import FrontFigure
from ringwright.report.sheets.course import corners
from ringwright.report.sheets.rows import COMPUTED, percent
from ringwright.report.sheets.sheet import Table
from ringwright.units import in_unit, show_number

__all__ = ["front_figures", "improve_tables"]

PAYS = 5e-4
"""Gain from which relaxing a limit is said to pay."""
FIGURES = {
    "tension": ("Least peak tension for a production", "cN"),
    "heat": ("Least traveller heat for a production", "W"),
    "cost": ("Least cost of 1 kg for a production", "1"),
}
"""Title and unit of each front's figure."""
NOT_RUN = "not run: a limit of the balloon's shape is passed, which no speed mends"


def improve_tables(study: PartsStudy) -> tuple[Table, ...]:
    """Give the tables of a study in the order in which they are read."""
    singles = (_singles(study),) if study.singles else ()
    return (_runs(study), _changed(study), *singles, *(_front(study, one) for one in study.fronts),
            _relaxed(study))  # fmt: skip


def _cn(force: float) -> str:
    return show_number(in_unit(force, "force", "cN"), 1)


def _rpm(speed: float) -> str:
    return show_number(round(speed / RPM), 0)


def _runs(study: PartsStudy) -> Table:
    runs = (("as set", study.as_set), ("best speeds alone", study.speeds_alone), ("best parts and speeds", study.best))
    priced = study.best.cost is not None
    cost = (f"{study.question.mill.money.currency}/kg",) if priced else ()
    columns = ("Run", "g/spindle-h", "mean speed, rpm", "peak tension, cN", "heat, W", *cost)
    return Table(
        title="Runs",
        columns=columns,
        rows=tuple(
            (name, *_run(run, priced=priced)) if run else (name, *("-",) * (len(columns) - 1)) for name, run in runs
        ),
        origin=COMPUTED,
        numbers=tuple(range(1, len(columns))),
        under=tuple("" if run else NOT_RUN for _, run in runs),
    )


def _run(run: Run, *, priced: bool) -> tuple[str, ...]:
    cost = (show_number(run.cost.total, 3) if run.cost is not None else "-",) if priced else ()
    heat = show_number(run.heat, 1)
    return (show_number(3.6e6 * run.production, 1), _rpm(run.mean_speed), _cn(run.tension), heat, *cost)


def _changed(study: PartsStudy) -> Table:
    rows = tuple((axis.name, axis.told(axis.present), axis.told(step)) for axis, step in study.changed)
    as_is = "" if rows else " No other parts within reach are better by 1 %."
    return Table(
        title="Best parts",
        columns=("Part", "now", "best"),
        rows=rows or (("all parts", "as they are", "as they are"),),
        origin=COMPUTED,
        numbers=(1, 2),
        note=f"Speed through the doff: {corners(study.best.course)} of the yarn.{as_is}",
    )


def _singles(study: PartsStudy) -> Table:
    cost = (f"{study.question.mill.money.currency}/kg",) if study.first is not None else ()
    anew = "; cost with the speeds set anew" if cost else ""
    return Table(
        title=f"One part alone, at a mean speed of {_rpm(study.speed)} rpm{anew}",
        columns=("Part", "from", "to", "peak tension, cN", "heat, W", *cost),
        rows=tuple(_single(one, priced=bool(cost)) for one in study.singles),
        origin=COMPUTED,
        numbers=(1, 2, 3, 4, *((5,) if cost else ())),
    )


def _single(one: Single, *, priced: bool) -> tuple[str, ...]:
    reached = math.isfinite(one.tension)
    values = (_cn(one.tension), show_number(one.heat, 1)) if reached else ("cannot run it", "-")
    cost = (show_number(one.cost, 3) if one.cost is not None else "-",) if priced else ()
    return (one.axis.name, *(one.axis.told(at) for at in (one.axis.present, one.step)), *values, *cost)


def _front(study: PartsStudy, front: Front) -> Table:
    money = study.question.mill.money.currency
    what = {"tension": "peak tension", "heat": "traveller heat", "cost": "cost of 1 kg"}[front.against]
    unit = {"tension": "cN", "heat": "W", "cost": money}[front.against]
    rows = []
    for point, present in zip(front.points, front.present, strict=True):
        values = (_value(value, front.against) for value in (point.least, present))
        made = show_number(3.6e6 * study.production_at(point.speed), 1)
        rows.append((made, *values, str(len(point.changed))))
    return Table(
        title=f"Production against {what}",
        columns=("g/spindle-h", f"least, {unit}", f"parts as set, {unit}", "parts changed"),
        rows=tuple(rows),
        origin=COMPUTED,
        numbers=(0, 1, 2, 3),
    )


def _value(value: float, against: str) -> str:
    if not math.isfinite(value):
        return "limit passed"
    return {"cost": show_number(value, 3), "tension": _cn(value)}.get(against, show_number(value, 1))


def _relaxed(study: PartsStudy) -> Table:
    gain = {"production": "production", "tension": "tension saved", "cost": "cost saved"}[study.question.aim]
    paying = tuple((one.name, percent(one.gain)) for one in study.relaxed if one.gain >= PAYS)
    rest = "; ".join(one.name.lower() for one in study.relaxed if one.gain < PAYS)
    if paying:
        note = f"Nothing: {rest}." if rest else ""
    elif study.question.aim == "cost":
        note = "None pays: the least cost lies inside all limits, where one more turn already costs what it earns."
    else:
        note = (
            "None pays. What holds the answer is the balloon's own room (tube tip, separator at the lowest ring "
            "friction, a steady balloon) or the reach of a part."
        )
    return Table(
        title="What each limit would pay if it were relaxed by 5 %, at least",
        columns=("Limit", gain),
        rows=paying or (("none of them", "0"),),
        origin=COMPUTED,
        numbers=(1,),
        note=note,
    )


def front_figures(study: PartsStudy) -> dict[str, FrontFigure]:
    """Give the figures of the fronts by what production is weighed against."""
    figures, run = {}, study.as_set
    for front in study.fronts:
        title, unit = FIGURES[front.against]
        as_set = None
        if run is not None:
            values = {"tension": run.tension, "heat": run.heat, "cost": cost_of(run)}
            as_set = (run.production, values[front.against])
        figures[front.against] = FrontFigure(
            title=title,
            unit=unit,
            production=[study.production_at(point.speed) for point in front.points],
            least=[point.least for point in front.points],
            present=front.present,
            changed=[len(point.changed) for point in front.points],
            as_set=as_set,
            named=study.question.mill.money.currency if front.against == "cost" else "",
        )
    return figures
