"""The creel's sheet: tension and brake, renewals and transport, and the week where it was asked for."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ringwright.creel.cautions import creel_cautions
from ringwright.creel.judged import answer, hands_words, warnings_of
from ringwright.creel.renewal import RenewalPlan
from ringwright.creel.unwound import AS_SET, TriedCreel, Unwound, unwound_of
from ringwright.creel.week import VARIES, Week
from ringwright.mill import origin_of
from ringwright.physics.roving import roving_content
from ringwright.report.number import NARROW_SPACE, digits, shown_in
from ringwright.report.sheets.creel_pictures import brake_figure, tension_figure, week_figure
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.sources import sources_of
from ringwright.sources.bibliography import bibliography
from ringwright.units import chosen

__all__ = ["creel_sheet"]

COMPUTED: Final = "computed"
PRINTED_LIFTS, PRINTED_DIAMETERS = (10.0, 14.0), (4.5, 7.0)
"""Bobbins of the printed table [in]."""


def creel_sheet(found: Unwound, plan: RenewalPlan, run: Week | None, tried: TriedCreel = AS_SET) -> Sheet:
    """Tell the creel of a frame and yarn on one sheet; ``run`` is the week where one was asked for."""
    supply = found.supply
    pictures = [
        Picture(
            title="Tension from full to empty", svg=tension_figure(found), words=_tension_words(found), headed=True
        ),
        Picture(title="The band of the brake", svg=brake_figure(found), words=answer(found, None), headed=True),
    ]
    if run is not None:
        pictures.append(Picture(title="A week of renewals", svg=week_figure(run), words=hands_words(run), headed=True))
    return Sheet(
        title=f"Creel of {supply.frame.name} with {supply.yarn.name}, roving {supply.roving.name}",
        answer=answer(found, run),
        rows=(*_tension_rows(found, tried), *_supply_rows(plan)),
        tables=(_groups(plan), *(() if run is None else (_frames(run), _shifts(run)))),
        pictures=tuple(pictures),
        warnings=warnings_of(found),
        notes=_notes(found, run),
        sources=_sources(),
        cautions=tuple(one.words for one in creel_cautions(supply.yarn)),
    )


def _row(name: str, value: float, unit: tuple[str, str], step: float, origin: str = COMPUTED, note: str = "") -> Row:
    """Make a row of an SI value shown in a unit (quantity, symbol)."""
    quantity, symbol = unit
    text, symbol = shown_in(value, quantity, symbol, step) if np.isfinite(value) else ("without end", chosen(symbol))
    return Row(name=name, value=text, unit="" if symbol == "1" else symbol, origin=origin, raw=float(value), note=note)


def _origin(entry: object, key: str, *, typed: bool = False) -> str:
    """Say where a value of the mill comes from; what was typed is tried."""
    if typed:
        return "assumed, tried here"
    word, note = origin_of(entry, key)
    return f"{word}, {note}" if note else word


def _tension_rows(found: Unwound, tried: TriedCreel) -> tuple[Row, ...]:
    frame, force, band = found.supply.frame, ("force", "cN"), found.band
    brake = _origin(frame, "creel.brake_torque", typed=tried.brake_torque is not None)
    cohesion = "measured, by the mill" if found.measured else "assumed, our estimate from twist and fibres"
    if found.measured and tried.roving_twist is not None:
        cohesion = "computed, the mill's reading moved to the twist tried"
    ends = [("lowest", band.lowest, band.lowest_by)]
    if band.highest is not None:
        half = unwound_of(found.supply, replace(tried, cohesion=0.5)).band.highest
        less = "none" if half is None else f"{digits(1e3 * half, 0.01)}{NARROW_SPACE}mN m"
        ends.append(("highest", band.highest, f"{band.highest_by}; with half the cohesion {less}"))
    return (
        _row("Brake on the hanging bobbin", found.brake, ("torque", "mN m"), 0.01, brake),
        *(_row(f"Brake, {word} of its band", at, ("torque", "mN m"), 0.01, note=by) for word, at, by in ends),
        _row("Strand speed at the back rollers", found.supply.feed_speed, ("speed", "m/min"), 0.01,
             note="at the highest speed of the doff"),
        _row("Tension, even running, full bobbin", float(found.steady[0]), force, 0.1),
        _row("Tension, even running, empty bobbin", float(found.steady[-1]), force, 0.1),
        _row("Tension while the frame starts, empty bobbin", float(found.start[-1]), force, 0.1,
             note="a strand that does not give"),
        _row("Highest tension", float(found.highest.max()), force, 0.1,
             note="start or a bobbin that turns by jerks, without damping: the higher end"),
        _row("Slack after a quick stop, most", float(found.slack.max()), ("length", "mm"), 0.1),
        _row("Cohesion of the strand", found.cohesion, force, 1.0, cohesion),
        _row("Cohesion of a weak place", found.weak, force, 1.0, note="about the weakest of a thousand places"),
        _row("Highest tension over that", found.false_draft, ("share", "%"), 0.1),
        _row("Count change by the creel, most", float(found.count_change.min()), ("share", "%"), 0.01,
             note="finer yarn, by even running near the empty bobbin"),
    )  # fmt: skip


def _supply_rows(plan: RenewalPlan) -> tuple[Row, ...]:
    supply, creel = plan.supply, plan.supply.frame.creel
    lift, diameter = creel.traverse / 0.0254, creel.full_diameter / 0.0254
    rows = [
        _row("A full bobbin lasts", supply.run_out, ("time", "h"), 0.1),
        _row("Doff to doff, stops in it", supply.doff_cycle, ("time", "h"), 0.01),
        _row("Doffs from renewal to renewal", float(plan.cycle), ("ratio", "1"), 1.0),
        _row("Bobbins a shift", plan.to_renew, ("ratio", "1"), 1.0),
        _row("Cart trips a shift", plan.trips, ("ratio", "1"), 0.1),
        _row("Left on a bobbin when renewed", plan.remnant, ("mass", "g"), 1.0),
        _row("Remnants to strip a shift", plan.stripped, ("mass", "kg"), 0.1),
        _row("Work of hands a shift", plan.work, ("time", "min"), 1.0, note="changing and piecing alone"),
        _row("All bobbins at once, one hand", plan.at_once, ("time", "h"), 0.1,
             note=f"the remnant lasts {digits(plan.reserve / 3600, 0.1)}{NARROW_SPACE}h"),
    ]  # fmt: skip
    if _inside(lift, PRINTED_LIFTS) and _inside(diameter, PRINTED_DIAMETERS):
        content = roving_content(creel.traverse, creel.full_diameter)
        written = f"the mill writes {digits(supply.roving.bobbin_mass, 0.01)}{NARROW_SPACE}kg"
        rows.append(
            _row("Content by printed formula", content, ("mass", "kg"), 0.01, "common practice, SITRA-norms", written)
        )
    return tuple(rows)


def _inside(value: float, span: tuple[float, float]) -> bool:
    return span[0] * 0.99 <= value <= span[1] * 1.01


def _groups(plan: RenewalPlan) -> Table:
    cycle = plan.supply.doff_cycle
    rows = tuple(
        (
            f"{one.doff + 1}", f"{one.first} to {one.last}", f"{one.spindles}",
            digits((one.doff + 1) * cycle / 3600, 0.1), digits(((one.doff + 1) * cycle + plan.reserve) / 3600, 0.1),
        )
        for one in plan.groups
    )  # fmt: skip
    note = (
        f"Hours from the start of the cycle. After doff {plan.cycle} the first group is due again. To begin from a "
        f"creel hung all at once, renew by this table once: the early bobbins come off with "
        f"{digits(plan.first_round, 1.0)}{NARROW_SPACE}kg, to be hung again where they fit."
    )
    return Table(
        title="Which spindles get full bobbins in which doff",
        columns=("doff", "spindles", "number", "due after, h", "run out after, h"), rows=rows,
        origin=COMPUTED, numbers=(0, 2, 3, 4), note=note,
    )  # fmt: skip


def _frames(run: Week) -> Table:
    rows = tuple(
        (
            one.plan.supply.frame.name, one.yarn, f"{one.doffs}", f"{one.renewed}", f"{one.empty}", f"{one.short}",
            digits(one.stood / 3600, 0.1), digits(one.stripped, 0.1), digits(one.longest_wait / 60, 1.0),
            digits(one.doff_wait / 60, 0.1),
            "none" if np.isnan(one.first_empty) else digits(one.first_empty / 3600, 1.0),
        )
        for one in run.frames
    )  # fmt: skip
    return Table(
        title="The week by frame",
        columns=(
            "frame", "yarn", "doffs", "renewed", "empty", "short", "stood, h", "stripped, kg", "wait, min",
            "doff waits, min", "first, h",
        ),
        rows=rows, origin="computed by simulation", numbers=tuple(range(2, 11)),
        note="Empty: ran out before their turn; short: held less than reckoned; stood: spindle hours lost; wait: most "
        f"for a hand; doff waits: mean for a crew; first: when one first ran empty. Renewals {run.tried.renewal}; seed "
        f"{run.tried.seed}; other frames run their first setting's yarn.",
    )  # fmt: skip


def _shifts(run: Week) -> Table:
    rows = tuple(
        (
            f"{k + 1}", digits(one.work / 3600, 0.1), digits(one.available / 3600, 0.1),
            digits(100 * one.work / one.available, 1.0) if one.available else "", f"{one.renewed}", f"{one.empty}",
            f"{one.trips}",
        )
        for k, one in enumerate(run.shifts)
    )  # fmt: skip
    return Table(
        title="The week by shift, all frames",
        columns=("shift", "creeling, h", "hands' time, h", "taken, %", "renewed", "ran empty", "cart trips"),
        rows=rows, origin="computed by simulation", numbers=tuple(range(7)),
        note="Creeling holds the creelers' other work and rest by their share of the shift. Full bobbins beside the "
        f"frames: never fewer than {run.log.lowest_store} of {int(run.creeling.floor_store)}; hands waited "
        f"{digits(run.for_bobbins / 60, 1.0)}{NARROW_SPACE}min in the week for a cart.",
    )  # fmt: skip


def _tension_words(found: Unwound) -> str:
    first, last = (digits(100 * float(one), 0.1) for one in (found.steady[0], found.steady[-1]))
    wall = found.supply.frame.creel.cohesion_share * found.weak
    return (
        f"Even running pulls with {first} cN at the full bobbin and {last} cN at the empty one, as the radius falls "
        "faster than the weight on the bearing. False draft is reckoned from "
        f"{digits(100 * wall, 1.0)} cN on; below the lower hatching the bobbin runs on."
    )


_ALWAYS: Final = (
    (
        "The bobbin is taken as a cylinder of even density; the strand's own weight (about 1 cN for each metre) and "
        "its bending over the rods are left out."
    ),
    (
        "Jerks are those of a bobbin that sticks and slips, without damping, so the highest tension is the higher end. "
        "A stop in the middle of a jerk throws off more slack than is told here."
    ),
    (
        "The whole stretch of the strand is taken to go into the back rollers; what the roving frame stretched before "
        "is in the roving's own count."
    ),
)
_ESTIMATED: Final = (
    "Cohesion is our estimate: its form follows published work, its two constants do not. Pull twenty pieces of roving "
    "until they slip, divide the mean by the count, and write it as cohesion of the roving."
)
_OF_WEEK: Final = (
    "In the week the roving room always has full bobbins; the times of hands, carts and the doffing stop vary by "
    f"{100 * VARIES:.0f} %, the spinning time of a doff by {10 * VARIES:.0f} % (assumed); piecers are not in it."
)


def _notes(found: Unwound, run: Week | None) -> tuple[str, ...]:
    estimated = () if found.measured else (_ESTIMATED,)
    return (*_ALWAYS, *estimated, *(() if run is None else (_OF_WEEK,)))


def _sources() -> tuple[str, ...]:
    from ringwright.physics.constants import ROVING_CONTENT  # noqa: PLC0415 - only its source is wanted here

    known = bibliography()
    keys = ("bearing-tables", "GATE-2014", "Seguin-Crassous-2022")
    return (*(str(known[key]) for key in keys), *(str(one) for one in sources_of((ROVING_CONTENT,))))
