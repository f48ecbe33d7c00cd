"""The separators' sheet: room of the balloon, what a missing plate costs, and when the records would name it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ringwright.cascade import (
    Clearance,
    Plates,
    Watch,
    chance_named,
    cluster_mean,
    extra_breaks,
    steps_to_name,
)
from ringwright.cascade.expected import false_names
from ringwright.cascade.watched import Drawn, Rates, Watched
from ringwright.judgement import cautions
from ringwright.mill import Frame, Mill, origin_of
from ringwright.report.number import digits, shown_in
from ringwright.report.sheets.separators_pictures import breaks_figure, named_figure
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.units import chosen, show

__all__ = ["Told", "separators_sheet"]

COMPUTED: Final = "computed"
WEEK: Final = 168 * 3600.0
_WANTED: Final = 0.8
_SOURCE: Final = (
    "Clusters, extra breaks and the chance of a name: derived in this program and held to its simulation; the study's "
    "rules are those of the command study separators."
)
_PLATES: Final = (
    "Stop and lock out before a plate is looked at, straightened or fitted; mind the edges, a bent plate cuts. Your "
    "mill's rules and trained people come first."
)
_NO_LASH: Final = (
    "How often and how soon a loose end strikes is not computed from the lash of the yarn: no model of it and no "
    "figure in print is known to us. The shares are assumed until the mill's own records tell them (study separators)."
)
_EVEN: Final = (
    "Drawn and reckoned with one rate for all spindles and shifts; real ones differ, and the study allows for it at a "
    "small loss of power. Records stamped at the patrol need far longer."
)
_WORKS: Final = ("all work past the guards", "being in the ring room")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """All that the sheet tells: the frame as asked, room, plates, rate [1/s] of a spindle, and what was drawn."""

    mill: Mill
    frame: Frame
    clearance: Clearance
    plates: Plates
    rate: float
    watch: Watch
    watched: tuple[Watched, ...]
    drawn: Drawn | None
    rates: tuple[Rates, ...]
    typed_rate: bool = False
    typed_strike: bool = False


def separators_sheet(told: Told) -> Sheet:
    """Tell the separators of a frame and yarn on one sheet."""
    choice = told.clearance.doff.choice
    known = [one for one in cautions(choice.frame, choice.yarn) if one.work.startswith(_WORKS)]
    return Sheet(
        title=f"Separators of {choice.frame.name} with {choice.yarn.name}",
        answer=_answer(told),
        rows=(*_room_rows(told), *_cost_rows(told), *_seen_rows(told)),
        tables=(*(_named(one) for one in told.watched), _rates(told)),
        pictures=_pictures(told),
        warnings=_warnings(told),
        notes=_notes(told),
        sources=(_SOURCE,),
        cautions=(_PLATES, *(one.words for one in known)),
    )  # fmt: skip


def _row(name: str, value: float, unit: tuple[str, str], step: float, origin: str = COMPUTED, note: str = "") -> Row:
    quantity, symbol = unit
    known = np.isfinite(value)
    text, symbol = shown_in(value, quantity, symbol, step) if known else ("no steady balloon", chosen(symbol))
    return Row(name=name, value=text, unit="" if symbol == "1" else symbol, origin=origin, raw=float(value), note=note)


def _fault(told: Told) -> tuple[int, str, float]:
    """Give the first faulty plate: spindle before it, state, chance of a strike."""
    spindle, state = told.plates.faults[0]
    side, place = told.plates.where(spindle)
    return spindle, state, float(told.plates.chances[side][place])


def _hours(told: Told) -> str:
    return digits(told.mill.shift_length / 3600, 0.1).removesuffix(".0")


def _answer(told: Told) -> str:
    room, strikes = told.clearance, told.frame.strikes
    left = show(room.plate_room, "length", "mm", 1) if np.isfinite(room.plate_room) else "no known room"
    first = f"The widest balloon of the doff keeps {left} from the plate."
    if not told.plates.faults:
        mean = cluster_mean(strikes.missing_share)
        return (
            f"The frame has no separators, so the room is told to half the gauge: {left}. If "
            f"{digits(100 * strikes.missing_share, 1)} % of breaks strike each neighbour, one break becomes "
            f"{digits(mean, 0.1)} in the mean."
        )
    spindle, state, chance = _fault(told)
    extra = extra_breaks(told.rate, chance)
    second = (
        f"A {state} plate between {spindle} and {spindle + 1} costs {digits(1000 * 3600 * extra / 2, 0.1)} more breaks "
        f"per 1000 spindle hours at its two spindles, {digits(WEEK * extra, 0.1)} a week, if it lets "
        f"{digits(100 * chance, 1)} % of breaks strike."
    )
    shifts = steps_to_name(told.rate, chance, strikes.delay, told.mill.shift_length, told.watch)
    third = (
        f"The study of timed break records names it within {digits(shifts, 1)} shifts of {_hours(told)} h in four "
        "cases of five."
        if shifts
        else "The study of timed break records would not name it within 1000 shifts in four cases of five."
    )
    return f"{first} {second} {third}"


def _room_rows(told: Told) -> tuple[Row, ...]:
    room, mm = told.clearance, ("length", "mm")
    when = f"at minute {digits(room.minute_time / 60, 1)}" if np.isfinite(room.minute_time) else ""
    return (
        _row("Largest radius of the balloon", room.radius, mm, 0.1, note=when),
        _row("From there to the plate, or to half the gauge", room.plate_room, mm, 0.1),
        _row("Between two such balloons without a plate", room.between, mm, 0.1, note="both turned to each other"),
        _row("Yarn from guide to traveller there", room.loose_end, mm, 1,
             note="a loose end can be as long, and longer by what the rollers still feed"),
        _row("From the spindle to the neighbour's balloon", room.to_neighbour, mm, 0.1),
    )  # fmt: skip


def _cost_rows(told: Told) -> tuple[Row, ...]:
    strikes, ratio = told.frame.strikes, ("ratio", "1")
    rate = "assumed, typed here" if told.typed_rate else _of_mill(told, "money.breaks_per_1000_spindle_hours")
    per_hours = 1000 * 3600.0
    rows = [_row("Own breaks per 1000 spindle hours", per_hours * told.rate, ratio, 0.1, rate)]
    shares = (("missing", strikes.missing_share), ("bent", strikes.bent_share), ("plate", strikes.plate_share))
    for state, share in shares:
        origin = _of_frame(told, f"strikes.{state}_share")
        origin = "assumed, tried here" if told.typed_strike and state != "plate" else origin
        words = "over a plate that holds" if state == "plate" else f"where the plate is {state}"
        rows.append(_row(f"Breaks that strike {words}", share, ("share", "%"), 0.1, origin))
    for state, share in shares[:2]:
        extra = extra_breaks(told.rate, share)
        rows += [
            _row(f"Extra breaks, {state}, per 1000 spindle hours there", per_hours * extra / 2, ratio, 0.1,
                 note="at each of the two spindles"),
            _row(f"Extra breaks, {state}, a week", WEEK * extra, ratio, 0.1, note="168 h of running"),
        ]  # fmt: skip
    piecing = told.mill.money.piecing_time
    rows.append(
        _row("Piecing for one missing plate, a week", WEEK * extra_breaks(told.rate, strikes.missing_share) * piecing,
             ("time", "min"), 0.1, note=f"{digits(piecing, 1)} s an end ({_of_mill(told, 'money.piecing_time')})")
    )  # fmt: skip
    return tuple(rows)


def _of_mill(told: Told, key: str) -> str:
    word, note = origin_of(told.mill, key)
    return f"{word}, {note}" if note else word


def _of_frame(told: Told, key: str) -> str:
    word, note = origin_of(told.mill.frames[told.frame.name], key)
    return f"{word}, {note}" if note else word


def _seen_rows(told: Told) -> tuple[Row, ...]:
    strikes, step = told.frame.strikes, told.mill.shift_length
    rows = []
    for state, share in (("missing", strikes.missing_share), ("bent", strikes.bent_share)):
        shifts = steps_to_name(told.rate, share, strikes.delay, step, told.watch)
        rows.append(
            Row(name=f"Shifts until a {state} plate is named", value=digits(shifts, 1) if shifts else "over 1000",
                unit="shifts", origin=COMPUTED, raw=float(shifts) if shifts else None, note="in four cases of five")
        )  # fmt: skip
        if shifts:
            false = false_names(told.rate, strikes.plate_share, strikes.delay, shifts * step, told.watch)
            rows.append(_row("Sound plates named too in that time", false, ("ratio", "1"), 0.01,
                             note="of the whole frame, where all hold"))  # fmt: skip
    return tuple(rows)


def _named(one: Watched) -> Table:
    rows = tuple(
        (digits(shifts, 1), digits(100 * expected, 1), f"{found} of {one.runs}", str(false))
        for shifts, expected, found, false in zip(one.shifts, one.expected, one.found, one.false, strict=True)
    )
    return Table(
        title=f"When the study names the {one.state} plate between {one.spindle} and {one.spindle + 1}",
        columns=("shifts", "chance %", "named in runs", "sound plates named, all runs"), rows=rows,
        origin="computed, and drawn by chance", numbers=(0, 1, 2, 3),
        note="Chance: closed form. Runs: records of the whole frame drawn by chance and asked of the study itself.",
    )  # fmt: skip


def _rates(told: Told) -> Table:
    per_hours = 1000 * 3600.0
    rows = tuple(
        (one.name, digits(per_hours * one.expected, 0.01), digits(per_hours * one.drawn, 0.01), str(one.largest))
        for one in told.rates
    )
    return Table(
        title="Breaks of one side per 1000 spindle hours", rows=rows, origin="computed, and drawn by chance",
        columns=("plates", "closed form", "drawn", "largest cascade"), numbers=(1, 2, 3),
        note="Each drawn from some 20 000 own breaks. A cascade is a break with all that it struck, one after another.",
    )  # fmt: skip


def _pictures(told: Told) -> tuple[Picture, ...]:
    if not told.watched or told.drawn is None:
        return ()
    one, step = told.watched[0], told.mill.shift_length
    _, _, chance = _fault(told)
    at = np.unique(np.linspace(1, one.shifts[-1], 40).round())
    delay = told.frame.strikes.delay
    curve = [(float(k), chance_named(told.rate, chance, delay, float(k) * step, told.watch)) for k in at]
    found = " ".join(told.drawn.sentences)
    return (
        Picture(title="When the records name it", svg=named_figure(one, curve), words=_answer(told), headed=True),
        Picture(title="Breaks about the plate", svg=breaks_figure(told.drawn, one.spindle, step),
                words=f"A middling run of {one.shifts[-1]} shifts; the study says of it: {found}", headed=True),
    )  # fmt: skip


def _warnings(told: Told) -> tuple[str, ...]:
    room, warnings = told.clearance, []
    if np.isfinite(room.plate_room) and room.plate_room < 0:
        warnings.append(
            f"The balloon reaches {show(-room.plate_room, 'length', 'mm', 1)} beyond the plate's face: it rubs, and "
            "what is told here is that of a free balloon."
        )
    if np.isfinite(room.between) and room.between < 0:
        warnings.append(
            "Without the plate two widest balloons would strike each other even while both run: breaks come then "
            "without any first break, which the cost does not hold."
        )
    warnings += [note for note in told.clearance.doff.notes if "No steady" in note]
    warnings += [
        f"In {one.runs} runs of {one.shifts[-1]} shifts {one.false[-1]} sound plates were named too: look first."
        for one in told.watched[:1]
        if one.false[-1] > 0.1 * one.runs
    ]
    return tuple(warnings)


def _notes(told: Told) -> tuple[str, ...]:
    delay, down = told.frame.strikes.delay, told.frame.strikes.down_time
    strikes = f"Mean time of a strike {digits(delay, 1)} s, of an end down {digits(down / 60, 0.1)} min"
    leak = digits(100 * told.frame.strikes.plate_share, 0.1)
    return (
        _NO_LASH,
        f"{strikes} ({_of_frame(told, 'strikes.delay')}; {_of_frame(told, 'strikes.down_time')}).",
        f"A plate that holds still lets {leak} % strike, so that very long records name some plates that are sound.",
        _EVEN,
    )
