"""Better parts told on a terminal: what to change first, what it is worth, the front, and the limits that hold it."""

from __future__ import annotations

import math
from textwrap import wrap

from ringwright.economy.counting import Counted
from ringwright.improve.answers import Front, Single
from ringwright.improve.better import PartsStudy
from ringwright.improve.drive import RPM
from ringwright.improve.run import Run, cost_of
from ringwright.improve.worth import worth
from ringwright.judgement import cautions
from ringwright.report.course_text import percent
from ringwright.report.front_chart import FrontFigure
from ringwright.units import NARROW_SPACE, show, show_number

__all__ = ["breaks_note", "cost_words", "front_figures", "improve_text", "yearly_words"]

WIDTH = 88
REACH = (
    "The reach of the parts is assumed: traveller over the usual masses for the count (Baraiya 2016), rails and rings "
    "by a few steps of what is set. Say what your frame allows with --reach, or hold a part as it is with --keep."
)
COST_NOTE = (
    "Every candidate tried that keeps the limits was priced, over a coarse doff; the cheapest ones again over the "
    "whole doff. A year is spinning_time_per_year of [mill.money]."
)
SOFTER = "A lighter traveller winds a softer cop and may need another profile: neither is computed."
AIMS = {
    "production": "most production",
    "cost": "least cost of a kilogram",
    "tension": "least peak tension at equal production",
}


def improve_text(study: PartsStudy) -> str:
    """Tell a study: the answer, what each part alone would do, the front, what each limit would pay, what to mind."""
    question = study.question
    title = f"{question.frame}, {question.yarn}: what to change for {AIMS[question.aim]}"
    blocks = [
        [title, "=" * WIDTH],
        [line for breach in study.breaches for line in wrap(f"As set: {breach.words}", WIDTH)],
        wrap(f"The parts as set lack {' and '.join(study.lacking)}.", WIDTH) if study.lacking else [],
        _first(study),
        _runs(study),
        _changed(study),
        _singles(study),
        *(_front(study, front) for front in study.fronts),
        _relaxed(study),
        ["Mind", *_mind(study)],
    ]
    return "\n".join(line for block in blocks if block for line in (*block, "")).rstrip().replace(NARROW_SPACE, " ")


def _first(study: PartsStudy) -> list[str]:
    """Say in a sentence or two what to change first and what it is worth."""
    words = []
    then = "First"
    before, alone = study.as_set, study.speeds_alone
    if study.question.aim == "production" and before is not None and alone is not None:
        gain = alone.production / before.production - 1
        if gain > 0.005:
            words.append(f"First set the best speeds: with the parts as they are they make {percent(gain)} yarn.")
            then = "Then"
    mending = [one for one in study.singles if one.mends]
    if mending and study.speeds_alone is None:
        one = mending[0]
        words.append(f"{then} {_set_to(one)}: alone it keeps every limit, which the parts as set do not.")
        if study.first is not None and study.first.cost is not None and before is not None and before.cost is not None:
            old, new = (show_number(run.cost.total, 3) for run in (before, study.first) if run.cost is not None)
            words.append(f"A kilogram then costs {new} in place of {old} {study.question.mill.money.currency}.")
    elif study.first is not None and study.as_set is not None:
        words.append(f"{then} {_set_to(study.singles[0])}: {cost_words(study.as_set, study.first, study)}")
    elif study.singles:
        one = study.singles[0]
        base = study.tension_with_parts_as_set
        if one.tension < 0.99 * base:
            words.append(
                f"{then} {_set_to(one)}: alone it takes the peak tension from {_cn(base)} to {_cn(one.tension)} "
                f"({percent(one.tension / base - 1)}) at the same {_rpm(study.speed)} mean speed."
            )
        else:
            words.append("No part alone is worth changing: none takes 1 % off the peak tension at the same speed.")
    if study.first is not None and [(one.axis, one.step) for one in study.singles[:1]] == list(study.changed):
        words.append("No other change adds to it.")
    elif study.as_set is not None:
        words.append(_worth(study, study.as_set))
    return wrap(" ".join(words), WIDTH)


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
    return f"{told}; {yearly_words(before, best, study)}."


def cost_words(before: Run, after: Run, study: PartsStudy) -> str:
    """Say what one change does to the cost of a kilogram, to production, and in a year; "" for runs without a price."""
    if before.cost is None or after.cost is None:
        return ""
    old, new = before.cost.total, after.cost.total
    if new >= old:
        return (
            "no part alone makes a kilogram cheaper; this one, with the speeds set anew, costs "
            f"{percent(new / old - 1)}."
        )
    return (
        f"alone, with the speeds set anew, a kilogram costs {show_number(new, 3)} in place of {show_number(old, 3)} "
        f"{study.question.mill.money.currency} ({percent(new / old - 1)}) at {percent(_more(before, after))} yarn; "
        f"{yearly_words(before, after, study)}."
    )


def yearly_words(before: Run, after: Run, study: PartsStudy) -> str:
    """Say what the whole frame gains in a year."""
    mill, frame = study.question.mill, after.choice.frame
    gain = worth(before, after, frame.spindles, mill.money)
    money = f"{show_number(abs(gain.money), 0)} {mill.money.currency}"
    yarn = f"{show_number(abs(gain.yarn) / 1000, 1)} t {'more' if gain.yarn >= 0 else 'less'} yarn"
    way = "earned more" if gain.by_price else "saved on the yarn made now"
    lost = "earned less" if gain.by_price else "more for the yarn made now"
    return f"for {frame.name} in a year {money} {way if gain.money >= 0 else lost}, and {yarn}"


def _more(before: Run, after: Run) -> float:
    return after.production / before.production - 1


def _set_to(one: Single) -> str:
    axis = one.axis
    return f"set the {axis.name} to {axis.told(one.step)} (now {axis.told(axis.present)})"


def _cn(force: float) -> str:
    return show(force, "force", "cN", 1)


def _rpm(speed: float) -> str:
    return show(round(speed / RPM) * RPM, "rotation", "rpm", 0)


def _runs(study: PartsStudy) -> list[str]:
    rows = (("as set", study.as_set), ("best speeds alone", study.speeds_alone), ("best parts and speeds", study.best))
    money = study.question.mill.money.currency
    cost = f"{f'{money}/kg':>12}" if study.best.cost is not None else ""
    lines = [f"{'':<24}{'g/spindle-h':>12}{'mean speed':>13}{'peak tension':>14}{'heat':>9}{cost}"]
    for name, run in rows:
        if run is None:
            lines.append(f"{name:<24}not run: a limit of the balloon's shape is passed, which no speed mends")
            continue
        lines.append(
            f"{name:<24}{show_number(3.6e6 * run.production, 1):>12}{_rpm(run.mean_speed):>13}"
            f"{_cn(run.tension):>14}{show(run.heat, 'power', 'W', 1):>9}"
            + (f"{show_number(run.cost.total, 3):>12}" if run.cost is not None else "")
        )
    return lines


def _changed(study: PartsStudy) -> list[str]:
    lines = ["Best parts"]
    lines += [f"  {axis.name:<36}{axis.told(axis.present):>10} to {axis.told(step)}" for axis, step in study.changed]
    if not study.changed:
        lines.append("  as they are: no other parts within reach are better by 1 %")
    course = study.best.course
    corners = ", ".join(
        f"{_rpm(speed)} at {show_number(100 * share)} %"
        for share, speed in zip(course.shares, course.speeds, strict=True)
    )
    lines += wrap(f"  speed through the doff: {corners} of the yarn", WIDTH, subsequent_indent="    ")
    if study.at_end:
        names = "; ".join(axis.name for axis in study.at_end)
        lines += wrap(
            f"  At the end of its reach: {names}. A wider reach might give more.", WIDTH, subsequent_indent="    "
        )
    return lines


def _singles(study: PartsStudy) -> list[str]:
    if not study.singles:
        return []
    money = study.question.mill.money.currency
    cost = f"{f'{money}/kg':>11}" if study.first is not None else ""
    lines = [
        f"One part alone, at a mean speed of {_rpm(study.speed)}{'; cost with the speeds set anew' if cost else ''}",
        f"{'':<50}{'peak tension':>14}{'heat':>9}{cost}",
    ]
    for one in study.singles:
        reached = math.isfinite(one.tension)
        values = f"{_cn(one.tension):>14}{show(one.heat, 'power', 'W', 1):>9}" if reached else "   cannot run it"
        values += f"{show_number(one.cost, 3):>{11 if reached else 12}}" if one.cost is not None else ""
        change = f"{one.axis.told(one.axis.present)} to {one.axis.told(one.step)}"
        lines.append(f"  {one.axis.name:<34}{change:<16}{values}".rstrip())
    return lines


def _front(study: PartsStudy, front: Front) -> list[str]:
    money = study.question.mill.money.currency
    what = {"tension": "peak tension", "heat": "traveller heat", "cost": f"cost of 1 kg, {money}"}[front.against]
    lines = [
        f"Production against {what}",
        f"  {'g/spindle-h':>12}{'least':>12}{'parts as set':>15}{'parts changed':>16}",
    ]
    for point, present in zip(front.points, front.present, strict=True):
        values = [
            _told(value, front.against) if math.isfinite(value) else "limit passed" for value in (point.least, present)
        ]
        lines.append(
            f"  {show_number(3.6e6 * study.production_at(point.speed), 1):>12}{values[0]:>12}{values[1]:>15}"
            f"{len(point.changed):>16}"
        )
    return lines


def _told(value: float, against: str) -> str:
    if against == "cost":
        return show_number(value, 3)
    return _cn(value) if against == "tension" else show(value, "power", "W", 1)


def _relaxed(study: PartsStudy) -> list[str]:
    gain = {"production": "production", "tension": "tension saved", "cost": "cost saved"}[study.question.aim]
    lines = ["What each limit would pay if it were relaxed by 5 %, at least"]
    paying = [one for one in study.relaxed if one.gain >= 5e-4]
    lines += [f"  {one.name:<26}{percent(one.gain):>8} {gain}" for one in paying]
    rest = "; ".join(one.name.lower() for one in study.relaxed if one.gain < 5e-4)
    if not paying and study.question.aim == "cost":
        lines += wrap(
            "  None pays: the least cost lies inside all limits, where one more turn already costs what it earns.",
            WIDTH, subsequent_indent="  ",
        )  # fmt: skip
    elif not paying:
        lines += wrap(
            "  None pays. What holds the answer is the balloon's own room (tube tip, separator at the lowest ring "
            "friction, a steady balloon) or the reach of a part.", WIDTH, subsequent_indent="  ",
        )  # fmt: skip
    elif rest:
        lines += wrap(f"  nothing: {rest}", WIDTH, subsequent_indent="    ")
    return lines


def _mind(study: PartsStudy) -> list[str]:
    frame = study.best.choice.frame
    keeps, tried = int(study.found.tried.keeps.sum()), len(study.found.picks)
    notes = [
        f"{tried} candidates were tried, {keeps} keep every limit; the search ended because {study.found.ended}.",
        REACH,
        f"Every answer is steady and clear of the plates down to ring friction {frame.ring.friction_low:g}. {SOFTER}",
        "The front's speeds follow the limits from stroke to stroke; the runs above are those of the drive.",
    ]
    if study.best.cost is not None:
        notes.append(breaks_note(study.question.counted))
        notes.append(COST_NOTE)
    setting = [
        one.words
        for one in cautions(frame, study.best.choice.yarn)
        if one.work.startswith(("changing trav", "setting con"))
    ]
    return [line for note in (*notes, *setting) for line in wrap(f"  {note}", WIDTH, subsequent_indent="  ")]


def breaks_note(counted: Counted | None) -> str:
    """Say what the break rates behind a cost rest on."""
    if counted is None:
        return (
            "Costs rest on the mill's prices and on a general break rate that is scaled by a model: read them as "
            "ratios until they are calibrated to your own counts (--counts)."
        )
    rate = f"{show_number(counted.rate, 1)} ({show_number(counted.low, 1)} to {show_number(counted.high, 1)}, 95 %)"
    slope = (
        "their growth with tension is that of strength tests"
        if counted.slope is None
        else f"they grow with tension to the power {show_number(counted.slope, 1)}, as counted"
    )
    return f"Breaks as set: {rate} per 1000 spindle hours from {counted.origin}; {slope}."


FIGURES = {
    "tension": ("Least peak tension for a production", "cN"),
    "heat": ("Least traveller heat for a production", "W"),
    "cost": ("Least cost of 1 kg for a production", "1"),
}
"""Title and unit of each front's figure."""


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
