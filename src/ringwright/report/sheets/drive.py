"""The drive's sheet: speed and twist of every spindle, slip margin, losses, other wharves, readings, another frame."""

from __future__ import annotations

from typing import Final

import numpy as np

from ringwright.drive.cautions import drive_cautions
from ringwright.drive.judged import answer, compare_words, notes_of, read_notes, warnings_of, wharve_words
from ringwright.drive.layout import group_word
from ringwright.drive.slow import FALSE_SHARE
from ringwright.drive.whole import DriveTold
from ringwright.mill import Mill, origin_of, setting_for
from ringwright.report.number import digits, shown_in
from ringwright.report.sheets.drive_pictures import speed_figure, wharve_figure
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.sources.bibliography import bibliography
from ringwright.units import chosen, show

__all__ = ["drive_sheet"]

COMPUTED: Final = "computed"
KWH: Final = 3.6e6


def drive_sheet(mill: Mill, told: DriveTold, against: DriveTold | None = None) -> Sheet:
    """Tell the drive of a frame with a yarn on one sheet; ``against`` is another frame's, to compare."""
    frame = told.frame
    pictures = [Picture(title="Speed along the frame", svg=speed_figure(told), words=answer(told), headed=True)]
    if told.wharves and any(one.driven for one in told.wharves):
        words = wharve_words(told)
        wharves = wharve_figure(told)
        pictures.append(Picture(title="Slip margin and energy by wharve", svg=wharves, words=words, headed=True))
    title = f"Drive of {frame.name} with {told.yarn.name}: {frame.drive.kind}"
    return Sheet(
        title=title if against is None else f"{title}, against {against.frame.name}: {against.frame.drive.kind}",
        answer=answer(told) if against is None else f"{answer(told)} {compare_words(told, against)}",
        rows=(*_speed_rows(mill, told), *_grip_rows(mill, told), *_energy_rows(told)),
        tables=(
            *(() if against is None else (_compared(told, against),)),
            *(_slow_tables(told)), *(() if not told.wharves else (_wharves(told),)),
        ),
        pictures=tuple(pictures), warnings=warnings_of(told), notes=(*read_notes(told), *notes_of(told)),
        sources=_sources(told), cautions=tuple(drive_cautions(frame, told.yarn, reading=True)),
    )  # fmt: skip


def _row(name: str, value: float, unit: tuple[str, str], step: float, origin: str = COMPUTED, note: str = "") -> Row:
    """Make a row of an SI value shown in a unit (quantity, symbol)."""
    quantity, symbol = unit
    text, symbol = shown_in(value, quantity, symbol, step) if np.isfinite(value) else ("none", chosen(symbol))
    return Row(name=name, value=text, unit="" if symbol == "1" else symbol, origin=origin,
               raw=float(value) if np.isfinite(value) else None, note=note)  # fmt: skip


def _speed_rows(mill: Mill, told: DriveTold) -> tuple[Row, ...]:
    run = setting_for(mill, told.frame.name, told.yarn.name)
    driven, spread, drive = told.driven, told.spread, told.frame.drive
    rpm, share, twist = ("rotation", "rpm"), ("share", "%"), ("twist", "t/m")
    rows = [
        _row(
            "Spindle speed, mean",
            driven.load.speed,
            rpm,
            1.0,
            origin_of(run, "main_speed")[0],
            "main speed of the setting",
        )
    ]
    if driven.runs:
        rows += [
            _row("Drum speed that this needs", driven.drum_speed, rpm, 1.0,
                 note="" if drive.drum_diameter
                 else f"of a drum of {show(0.2, 'length', 'mm', 0)}, since the mill writes none"),
            _row("Speed of belt or tape", driven.belt_speed, ("speed", "m/s"), 0.1),
            _row("Slowest spindle by the model", float(driven.speed.min()), rpm, 1.0,
                 note=f"spindle {spread.lowest_at}"),
            _row("Fastest spindle by the model", float(driven.speed.max()), rpm, 1.0,
                 note=f"spindle {spread.highest_at}"),
        ]  # fmt: skip
    rows += [
        _row("Twist of the yarn, mean", told.twist, twist, 1.0, "computed", "from its multiplier and count"),
        *(
            _row(f"{what} along the {group_word(told.frame)}", value, share, 0.01)
            for what, value in (("Lowest", spread.lowest), ("Highest", spread.highest), ("SD", spread.along))
            if driven.runs
        ),
        *(_row(f"SD by {name}", width, share, 0.01, "computed, from an assumed spread")
          for name, width in spread.chance.items()),
        _row("SD of twist in all", spread.deviation, share, 0.01),
        _row("Spindles expected outside the allowance", spread.beyond, ("ratio", "1"), 0.1,
             note=f"of {told.frame.spindles}, {digits(100 * spread.allowance, 0.1)} % either way"),
        *_winding_rows(told),
    ]  # fmt: skip
    if np.isfinite(told.by_wheels):
        rows += [
            _row("Speed lost against the bare diameters", driven.slip, share, 0.01,
                 note="belt height, creep and slip in one; below nought where the height of the belt gains more"),
            _row("Slip as the mill states it", drive.slip, share, 0.1, origin_of(told.frame, "drive.slip")[0]),
            _row("Twist, if the wheels were reckoned with that", told.by_wheels, twist, 1.0),
        ]  # fmt: skip
    return tuple(rows)


def _winding_rows(told: DriveTold) -> tuple[Row, ...]:
    """Tell the twist on the cop: the traveller's lag leaves out one turn a winding, found again in unwinding."""
    tube, full = told.frame.tube.bottom_diameter, told.frame.build.cop_diameter
    note = "the traveller lags a turn a winding; drawn off over its end the yarn has it back"
    return (
        _row("Twist on the cop, bare tube", told.twist - 1 / (np.pi * tube), ("twist", "t/m"), 1.0, note=note),
        _row("Twist on the cop, full", told.twist - 1 / (np.pi * full), ("twist", "t/m"), 1.0),
    )


def _grip_rows(mill: Mill, told: DriveTold) -> tuple[Row, ...]:
    driven = told.driven
    if not driven.runs:
        return ()
    run = min(driven.runs, key=lambda one: one.drum_margin)
    force, times = ("force", "N"), ("ratio", "1")
    key = "tape.tension" if told.frame.drive.kind == "four-spindle tape" else "belt.tension"
    rest = told.frame.drive.tape.tension if key.startswith("tape") else told.frame.drive.belt.tension
    return (
        _row("Pull in a strand at rest", rest, force, 1.0, origin_of(mill.frames[told.frame.name], f"drive.{key}")[0]),
        _row("Pull on the wharves, slack end", run.off_drum, force, 0.1, note="the belt's own mass taken off"),
        _row("Pull on to the drum, tight end", run.on_drum, force, 0.1, note="the belt's own mass taken off"),
        _row("Pull taken by one wharve, mean", float(driven.pull.mean()), force, 0.01),
        _row("Least pull in hand at a wharve", told.least_margin, times, 0.01,
             note=f"times what it takes; {digits(told.frame.drive.wharves.slip_margin, 0.01)} is wanted, 1 slips"),
        _row("Least pull in hand at the drum", run.drum_margin, times, 0.01, note="times what it gives"),
    )  # fmt: skip


def _energy_rows(told: DriveTold) -> tuple[Row, ...]:
    driven, watt = told.driven, ("power", "W")
    load = driven.load
    bare = "the mill's figure for the bare spindle less what the belt is found to take"
    rows = [
        _row("Power of yarn and cop at one spindle", load.yarn + load.air, watt, 0.1, note="at the main speed"),
        _row("Power of the bolster itself", driven.bolster, watt, 0.1, note=bare if driven.runs else ""),
        *(_row(f"Lost to {name}", power, watt, 0.01, note="one spindle's share")
          for name, power in driven.losses.items()),
        Row(name="Energy that the drive itself takes", value=digits(1e3 * driven.drive_energy / KWH, 0.1),
            unit="Wh/kg", origin=COMPUTED, raw=driven.drive_energy, note="from the mains, at the main speed"),
        Row(name="Energy of spindle, yarn and drive", value=digits(driven.energy / KWH, 0.001), unit="kWh/kg",
            origin=COMPUTED, raw=driven.energy, note="drafting and suction left out"),
    ]  # fmt: skip
    return tuple(rows)


def _wharves(told: DriveTold) -> Table:
    least = told.frame.drive.wharves.slip_margin
    rows = []
    for one in told.wharves:
        whole = abs(1e3 * one.diameter % 1) < 1e-6
        size, _ = shown_in(one.diameter, "length", "mm", 1.0 if whole and chosen("mm") == "mm" else 0.1)
        if one.driven is None:
            rows.append((size, "", "", "", "", "", "", "cannot give the pull"))
            continue
        run = one.driven
        say = "slips" if one.slips else "too near to slipping" if one.margin < least else ""
        if abs(one.diameter - told.frame.spindle.wharve_diameter) < 1e-7:
            say = f"as here; {say}" if say else "as here"
        rows.append(
            (
                size, digits(run.drum_speed * 30 / np.pi, 1.0), digits(run.belt_speed, 0.1),
                digits(float(run.pull.mean()), 0.01), digits(one.margin, 0.01),
                digits(100 * (float(run.speed.max() / run.speed.min()) - 1), 0.01),
                digits(1e3 * run.drive_energy / KWH, 0.1), say,
            )
        )  # fmt: skip
    return Table(
        title="Other wharves at the same spindle speed",
        columns=(f"wharve, {chosen('mm')}", "drum, rpm", "belt, m/s", "pull, N", "pull in hand, times",
                 "slowest to fastest, %", "drive, Wh/kg", ""),
        rows=tuple(rows), origin=COMPUTED, numbers=(0, 1, 2, 3, 4, 5, 6),
        note="The bolster's own power is taken as the same with every wharve. "
        f"{show(0.019, 'length', 'mm', 0)} to {show(0.022, 'length', 'mm', 0)} are usual (common practice, no source).",
    )  # fmt: skip


def _slow_tables(told: DriveTold) -> tuple[Table, ...]:
    if told.read is None:
        return ()
    study, tables = told.read.study, []
    if study.answer.findings:
        rows = tuple(
            (
                "spindle" if one.kind == "slow spindle" else group_word(told.frame), _shown(one.spindles),
                digits(one.estimate.value, 0.1),
                f"{digits(one.estimate.low, 0.1)} to {digits(one.estimate.high, 0.1)}", one.sureness.value,
                shown_in(told.twist * one.estimate.value / 100, "twist", "t/m", 1.0)[0],
            )
            for one in study.answer.findings
        )  # fmt: skip
        tables.append(
            Table(
                title="Slow beyond chance",
                columns=("what", "spindles", "slow, %", "95 %", "how sure", f"twist lost, {chosen('t/m')}"),
                rows=rows, origin="measured, held to the model", numbers=(2, 5),
                note=f"Of 100 names, at most about {digits(100 * FALSE_SHARE, 1.0)} are false (Benjamini-Hochberg).",
            )
        )  # fmt: skip
    return tuple(tables)


def _shown(spindles: tuple[int, ...]) -> str:
    return ", ".join(str(k) for k in spindles[:8]) + (", ..." if len(spindles) > 8 else "")


def _compared(told: DriveTold, other: DriveTold) -> Table:
    def cells(name: str, told_of: float, of_other: float, step: float) -> tuple[str, str, str, str]:
        return name, digits(told_of, step), digits(of_other, step), digits(told_of - of_other, step)

    a, b = told.driven, other.driven
    rows = [
        cells("main speed, rpm", a.load.speed * 30 / np.pi, b.load.speed * 30 / np.pi, 1.0),
        cells(
            "slowest to fastest along the belt, %",
            100 * (told.spread.highest - told.spread.lowest),
            100 * (other.spread.highest - other.spread.lowest),
            0.01,
        ),
        cells("spread along the belt, SD, %", 100 * told.spread.along, 100 * other.spread.along, 0.01),
        cells("spread from part to part, SD, %", 100 * told.spread.by_chance, 100 * other.spread.by_chance, 0.01),
        cells("spread of twist in all, SD, %", 100 * told.spread.deviation, 100 * other.spread.deviation, 0.01),
        cells("spindles expected outside the allowance", told.spread.beyond, other.spread.beyond, 0.1),
        cells("lost in the drive, W a spindle", sum(a.losses.values()), sum(b.losses.values()), 0.01),
        cells("drive, Wh/kg", 1e3 * a.drive_energy / KWH, 1e3 * b.drive_energy / KWH, 0.1),
        cells("spindle, yarn and drive, kWh/kg", a.energy / KWH, b.energy / KWH, 0.001),
    ]
    if a.runs and b.runs:
        rows.insert(6, cells("least pull in hand at a wharve, times", told.least_margin, other.least_margin, 0.01))
        rows.insert(1, cells("speed lost against the diameters, %", 100 * a.slip, 100 * b.slip, 0.01))
    return Table(
        title=f"{told.frame.name} against {other.frame.name}, both with {told.yarn.name}",
        columns=("", told.frame.name, other.frame.name, "difference"), rows=tuple(rows), origin=COMPUTED,
        numbers=(1, 2, 3),
    )  # fmt: skip


def _sources(told: DriveTold) -> tuple[str, ...]:
    keys = ["belt-law", "Bird-1905", "Childs-Cowburn-1987", "Klein-1987", "noise-2003-10"]
    if told.frame.drive.kind == "four-spindle tape":
        keys.append("Shaikh-Bhattacharya")
    if told.read is not None:
        keys.append("Benjamini-Hochberg-1995")
    known = bibliography()
    return (*(str(known[key]) for key in keys), "Bend of a belt at a line, and energy of the runs: our own derivation.")
