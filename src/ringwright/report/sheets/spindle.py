"""The spindle's sheet: critical speeds, sweep, bearing loads, and what oil and spring do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from ringwright.judgement import cautions
from ringwright.mill import origin_of
from ringwright.report.number import NARROW_SPACE, digits, shown_in
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.report.sheets.spindle_pictures import bent_figure, criticals_figure, sweep_figure
from ringwright.sources.bibliography import bibliography
from ringwright.spindle import SpindleStudy, TriedSpindle
from ringwright.spindle.building import CAUSES
from ringwright.spindle.care import CARE, OILING
from ringwright.spindle.judged import answer, course_parts, nearest_critical, warnings_of
from ringwright.spindle.variants import Variant
from ringwright.units import chosen, show

__all__ = ["spindle_sheet"]

COMPUTED: Final = "computed"
_SOURCES: Final = ("Friswell-2010", "Jeffcott-1919", "squeeze-film", "ASTM-D341", "ISO-3448", "metals", "spindle-care",
                   "ISO-21940-11")  # fmt: skip
_WORKS: Final = ("all work past the guards", "work on", "being in the ring room")


def spindle_sheet(study: SpindleStudy, tried: TriedSpindle, variants: Sequence[Variant]) -> Sheet:
    """Tell the spindle of a frame and yarn on one sheet."""
    choice = study.choice
    known = [one for one in cautions(choice.frame, choice.yarn) if one.work.startswith(_WORKS)]
    return Sheet(
        title=f"Spindle of {choice.frame.name} with {choice.yarn.name}",
        answer=answer(study),
        rows=(*_speed_rows(study), *_sweep_rows(study), *_load_rows(study, tried)),
        tables=(_course(study), _causes(study), _variants(variants), _whirls(study), _care()),
        pictures=(
            Picture(
                title="Critical speeds through the doff", svg=criticals_figure(study), words=answer(study), headed=True
            ),
            Picture(title="Sweep over speed", svg=sweep_figure(study), words=_sweep_words(study), headed=True),
            Picture(title="How the spindle bends", svg=bent_figure(study), words=_bent_words(study), headed=True),
        ),
        warnings=warnings_of(study),
        notes=_notes(study),
        sources=tuple(str(bibliography()[key]) for key in _SOURCES),
        cautions=(OILING.words, *(one.words for one in known)),
    )


def _row(name: str, value: float, unit: tuple[str, str], step: float, origin: str = COMPUTED, note: str = "") -> Row:
    quantity, symbol = unit
    text, symbol = shown_in(value, quantity, symbol, step) if np.isfinite(value) else ("none", chosen(symbol))
    return Row(name=name, value=text, unit="" if symbol == "1" else symbol, origin=origin, raw=float(value), note=note)


def _told(value: float, unit: tuple[str, str], step: float) -> str:
    return shown_in(float(value), *unit, step)[0] if np.isfinite(value) else "none"


RPM, MM = ("rotation", "rpm"), ("length", "mm")


def _speed_rows(study: SpindleStudy) -> tuple[Row, ...]:
    near, first, last = nearest_critical(study), study.criticals[0], study.criticals[-1]
    limit = _stated(study, "least_margin")
    wanted = digits(100 * study.rotor.least_margin, 1)
    rows = []
    for k, name in enumerate(("First", "Second")):
        rows += [
            _row(f"{name} critical speed, empty tube", first[k], RPM, 10),
            _row(f"{name} critical speed, full cop", last[k], RPM, 10),
        ]
    return (
        *rows,
        _row("Nearest critical speed, off the course by", near.margin, ("share", "%"), 0.1,
             note=f"at least {wanted}{NARROW_SPACE}% wanted ({limit})"),
    )  # fmt: skip


def _sweep_rows(study: SpindleStudy) -> tuple[Row, ...]:
    rotor, (empty, full) = study.rotor, study.passings
    good, most = (show(v, "length", "mm", 2) for v in (rotor.sweep_good, rotor.sweep_most))
    whose = _stated(study, "sweep_most")
    limit = f"up to {good} runs well, from {most} look at it ({whose})"
    passes = "as if the speed stood still there; a quick start or stop sweeps less"
    return (
        _row("Sweep of the tube's tip at speed, largest", float(study.sweep.max()), MM, 0.001, note=limit),
        _row("The same with all causes adding up", float(study.worst_sweep.max()), MM, 0.001),
        _row("Sweep passing the first critical, empty tube", empty.sweep, MM, 0.01, note=passes),
        _row("Sweep passing the first critical, full cop", full.sweep, MM, 0.01, note=passes),
    )


def _load_rows(study: SpindleStudy, tried: TriedSpindle) -> tuple[Row, ...]:
    rotor, oil = study.rotor, study.oil
    typed = "assumed, tried here"
    grade = rotor.spindle_unbalance * study.choice.frame.spindle.highest_speed / float(study.spindle.turning_mass[0])
    viscosity = typed if tried.oil_viscosity is not None else _stated(study, "oil_viscosity")
    warm = typed if tried.oil_celsius is not None else _stated(study, "oil_celsius")
    spring = typed if tried.foot_stiffness is not None else _stated(study, "foot_stiffness")
    return (
        _row("Turning force on the neck bearing, largest", float(study.neck_force.max()), ("force", "N"), 0.1,
             note="by unbalance; the pull of tape or belt is steady and comes on top"),
        _row("Pull of tape or belt on the neck", rotor.belt_pull, ("force", "N"), 1, _stated(study, "belt_pull")),
        _row("Turning force on the foot step, largest", float(study.foot_force.max()), ("force", "N"), 0.1),
        _row("Foot step off its middle at speed", float(study.foot_travel.max()), MM, 0.001,
             note=f"in a gap of {show(rotor.film_gap, 'length', 'mm', 2)}"),
        _row("Oil at 40 degrees", rotor.oil_viscosity, ("kinematic viscosity", "mm2/s"), 0.1, viscosity),
        Row(name="Oil temperature", value=digits(rotor.oil_celsius, 1), unit="degrees C", origin=warm,
            raw=rotor.oil_celsius),
        _row("Oil at that temperature", oil.kinematic, ("kinematic viscosity", "mm2/s"), 0.1),
        _row("Damping of the oil film", oil.damping, ("damping", "N s/m"), 1,
             note=f"gap {_stated(study, 'film_gap')}"),
        _row("Spring of the foot step", rotor.foot_stiffness, ("stiffness", "N/mm"), 1, spring),
        Row(name="Balance of the spindle alone", value=f"G {digits(1e3 * grade, 0.1)}", unit="", origin=COMPUTED,
            raw=grade, note="offset x highest speed, as ISO 21940-11 reckons it (from memory)"),
        _row("Mass that turns, empty tube", float(study.spindle.turning_mass[0]), ("mass", "g"), 1),
        _row("Yarn on the full cop", float(study.spindle.cop_mass[-1]), ("mass", "g"), 0.1),
    )  # fmt: skip


def _stated(study: SpindleStudy, key: str) -> str:
    word, note = origin_of(study.choice.frame, f"rotor.{key}")
    return f"{word}, {note}" if note else word


def _course(study: SpindleStudy) -> Table:
    rows = []
    for part in course_parts(study):
        criticals = study.criticals[part.place]
        apart = float(np.nanmin(np.abs(criticals / part.speed - 1)))
        rows.append(
            (part.name, _told(study.course.time[part.place], ("time", "min"), 1), _told(part.speed, RPM, 10),
             _told(criticals[0], RPM, 10), _told(criticals[1], RPM, 10), digits(100 * apart, 1),
             _told(study.sweep[part.place], MM, 0.001))
        )  # fmt: skip
    return Table(
        title="The course against the critical speeds",
        columns=("part", "minute", "speed rpm", "first rpm", "second rpm", "margin %", f"sweep {chosen('mm')}"),
        rows=tuple(rows), origin=COMPUTED, numbers=(1, 2, 3, 4, 5, 6),
        note="The minute is the sampled one nearest to the middle of each part; the sweep is at that minute's speed.",
    )  # fmt: skip


def _causes(study: SpindleStudy) -> Table:
    places = (0, len(study.course.time) // 2, len(study.course.time) - 1)
    rows = [
        (cause, *(_told(of[k], MM, 0.001) for k in places))
        for cause, of in zip(CAUSES, study.sweeps, strict=True)
    ]
    for name, of in (("together, as chance turns them", study.sweep), ("together, all one way", study.worst_sweep)):
        rows.append((name, *(_told(of[k], MM, 0.001) for k in places)))
    return Table(
        title=f"What makes the tip sweep, {chosen('mm')}", columns=("cause", "empty tube", "half-way", "full cop"),
        rows=tuple(rows), origin=COMPUTED, numbers=(1, 2, 3),
        note="Each alone at the speed of the moment. Which way each points is not known, so squares are added.",
    )  # fmt: skip


def _variants(variants: Sequence[Variant]) -> Table:
    return Table(
        title="What oil and spring do, full cop",
        columns=("changed", "oil mm2/s", "film N s/m", "first critical rpm", "decrement",
                 f"sweep passing {chosen('mm')}", f"sweep at main {chosen('mm')}", "foot force N"),
        rows=tuple(
            (one.name, _told(one.viscosity, ("kinematic viscosity", "mm2/s"), 0.1), digits(one.damping, 1),
             _told(one.critical, RPM, 10), _told(one.decrement, ("ratio", "1"), 0.01),
             _told(one.passing_sweep, MM, 0.01), _told(one.main_sweep, MM, 0.001), digits(one.foot_force, 0.01))
            for one in variants
        ),
        origin=COMPUTED, numbers=(1, 2, 3, 4, 5, 6, 7),
        note="The decrement is that of the slowest forward whirl: the higher, the sooner a shake dies away.",
    )  # fmt: skip


def _whirls(study: SpindleStudy) -> Table:
    rows = []
    for name, of in zip(("empty tube, start speed", "full cop, main speed"), study.whirls, strict=True):
        for frequency, decrement in zip(of.frequency, of.decrement, strict=True):
            sense = "with the spindle" if frequency > 0 else "against it"
            rows.append((name, sense, _told(abs(frequency), RPM, 10), digits(float(decrement), 0.01)))
    return Table(
        title="Natural whirls", columns=("when", "sense", "whirls a minute", "decrement"), rows=tuple(rows),
        origin=COMPUTED, numbers=(2, 3),
    )  # fmt: skip


def _care() -> Table:
    rows = tuple((one.what, f"{digits(one.earliest / 3600, 1)} to {digits(one.latest / 3600, 1)}") for one in CARE)
    return Table(
        title="Care of spindles", columns=("what", "running hours"), rows=rows,
        origin="common practice, from memory", numbers=(1,),
        note="The mill's own oil readings and the maker's book come before these.",
    )  # fmt: skip


def _sweep_words(study: SpindleStudy) -> str:
    empty, full = (show(one.sweep, "length", "mm", 2) for one in study.passings)
    return (
        f"At the first critical speed the tip sweeps {empty} with the empty tube and {full} with the full cop; "
        f"at the end of the doff {show(float(study.sweep[-1]), 'length', 'mm', 3)}."
    )


def _bent_words(study: SpindleStudy) -> str:
    forward = [f for f in study.whirls[1].frequency if f > 0]
    told = " and ".join(f"{_told(f, RPM, 10)}" for f in forward)
    return f"The slowest forward whirls with the full cop at the main speed, {told} rpm: first it leans, then it bends."


_LEFT_OUT: Final = (
    ("Sweep is from side to side, of the tube's own surface, run-out and whirl together; a reading by hand also holds "
    "the shake of the rail."),
    ("Tube and cop add mass, not stiffness. Left out: the yarn's pull, damping inside the turning parts, foam, "
    "supports that differ by direction."),
    "The law of the oil film is that of a full film, centred, with open ends; one that tears damps half as much.",
    ("ISO 20816 grades the shake of machine housings (from memory); no standard with a figure for a spindle's tip is "
    "known to us, so the limits are common practice."),
)  # fmt: skip
_GUESSED: Final = ("neck_stiffness", "foot_stiffness", "film_gap", "tube_runout_tip")


def _notes(study: SpindleStudy) -> tuple[str, ...]:
    words = {key: origin_of(study.choice.frame, f"rotor.{key}")[0] for key in _GUESSED}
    assumed = ", ".join(key.replace("_", " ") for key, word in words.items() if word == "assumed")
    told = (f"Assumed, so the answer is no better than they are: {assumed}.",) if assumed else ()
    return (*told, *_LEFT_OUT)
