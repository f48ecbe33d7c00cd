"""The verbs about energy, breaks, money, spread, calibration and comparison that the doors may ask for."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from ringwright.economy import EconomicSpeed, Energy
    from ringwright.economy.compare import SideBySide
    from ringwright.economy.counting import BreakStudy
    from ringwright.mill import Mill
    from ringwright.setting.choice import Trial
    from ringwright.setting.doff import Doff
    from ringwright.uncertainty.calibration import Calibration
    from ringwright.uncertainty.spread import SpreadStudy

# Each verb imports what it needs as it is called, so that no other command waits for it.
# ruff: noqa: PLC0415

__all__ = ["breaks", "calibrate", "compare", "cost", "energy", "spread"]


def energy(where: str, names: tuple[str, str], tried: Trial) -> tuple[Mill, Doff, Energy]:
    """Part the power of one spindle of a frame and yarn (their names); with the mill and the doff it is of."""
    from ringwright.economy import energy_by_part
    from ringwright.setting.doff import solve_doff
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    doff = solve_doff(mill, *names, tried)
    return mill, doff, energy_by_part(doff, mill.power)


def cost(where: str, names: tuple[str, str], tried: Trial, rate: float | None) -> tuple[Mill, Doff, EconomicSpeed]:
    """Reckon the cost of a kilogram over speed, from the setting's break rate [per 1000 spindle hours] if known."""
    from ringwright.economy import economic_speed, ground
    from ringwright.refusal import Fault, Refusal
    from ringwright.setting.doff import solve_doff
    from ringwright.verbs.app import open_mill

    if rate is not None and not 0.1 <= rate <= 2000:
        raise Refusal(Fault(where="the break rate", got=f"{rate:g}", wants="from 0.1 to 2000 per 1000 spindle hours"))
    mill = open_mill(where)
    terms = ground(mill, solve_doff(mill, *names), rate)
    doff = solve_doff(mill, *names, tried)
    return mill, doff, economic_speed(doff, terms)


def breaks(where: str, names: tuple[str, str], tried: Trial, counts_file: str | None) -> tuple[Doff, BreakStudy]:
    """Compare the end breaks of a trial with those of the setting, calibrated by a CSV file of counts if given."""
    from ringwright.economy.counting import read_counts, study_breaks
    from ringwright.economy.csv_table import text_of
    from ringwright.setting.doff import solve_doff
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    counts = read_counts(text_of(counts_file), counts_file) if counts_file else ()
    return solve_doff(mill, *names, tried), study_breaks(mill, names, tried, counts)


def calibrate(
    where: str, names: tuple[str, str], readings_file: str, hold: Sequence[str], date: str | None, *, replace: bool
) -> tuple[Calibration, Path | None]:
    """Fit friction and drag to a CSV of readings, or the demo's; with a date, keep the fit and give its file."""
    from ringwright.economy.csv_table import text_of
    from ringwright.mill import demo_mill_path
    from ringwright.setting.choice import choose
    from ringwright.uncertainty.calibration import calibrate as calibrated
    from ringwright.uncertainty.keeping import calibration_toml, keep, place_to_keep
    from ringwright.uncertainty.readings import read_readings
    from ringwright.verbs.app import DEMO, open_mill

    if readings_file == DEMO:
        readings_file = str(demo_mill_path() / f"readings_{'_'.join(names)}.csv")
    choice = choose(open_mill(where), *names)
    file = None if date is None or where == DEMO else place_to_keep(where, "-".join(names), date, replace=replace)
    found = calibrated(choice, read_readings(text_of(readings_file), readings_file), hold)
    if file is not None and date is not None:
        keep(file, calibration_toml(found, date, readings_file))
    return found, file


def spread(where: str, names: tuple[str, str], tried: Trial, doffs: int) -> SpreadStudy:
    """Carry the spread of the inputs through about so many doffs, 64 to 65 536."""
    from ringwright.refusal import Fault, Refusal
    from ringwright.setting.choice import choose
    from ringwright.uncertainty.spread import study_spread
    from ringwright.verbs.app import open_mill

    if not 64 <= doffs <= 65536:
        raise Refusal(Fault(where="the number of doffs", got=str(doffs), wants="from 64 to 65536"))
    return study_spread(choose(open_mill(where), *names, tried), doffs)


def compare(where: str, a: tuple[str, str], b: tuple[str, str], tried: str) -> SideBySide:
    """Compare a frame and yarn as set with another pair, or the same, with what is tried on it ("traveller=40mg")."""
    from ringwright.economy.compare import compare as compared
    from ringwright.economy.trying import read_trial
    from ringwright.setting.choice import AS_SET
    from ringwright.verbs.app import open_mill

    return compared(open_mill(where), (*a, AS_SET), (*b, read_trial(tried)))
