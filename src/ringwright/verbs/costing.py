"""The verbs about energy, breaks, money, spread, calibration and comparison that the doors may ask for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ringwright.economy import Energy
    from ringwright.economy.compare import SideBySide
    from ringwright.economy.costing import Costing
    from ringwright.economy.counting import BreakStudy, Count, Counted
    from ringwright.economy.csv_table import Csv
    from ringwright.economy.energy_sway import Sway
    from ringwright.mill import Mill
    from ringwright.setting.choice import Trial
    from ringwright.setting.doff import Doff
    from ringwright.uncertainty.calibration import Calibration
    from ringwright.uncertainty.spread import SpreadStudy
    from ringwright.verbs.app import Watching
    from ringwright.verbs.fits import Opened

# Each verb imports what it needs as it is called, so that no other command waits for it.
# ruff: noqa: PLC0415

__all__ = ["breaks", "calibrate", "compare", "cost", "counted", "energy", "spread"]


def energy(where: str | Mill, names: tuple[str, str], tried: Trial) -> tuple[Mill, Doff, Energy, tuple[Sway, ...]]:
    """Part the power of one spindle of a frame and yarn; with mill, doff, and how far the sum may sway."""
    from ringwright.economy import energy_by_part
    from ringwright.economy.energy_sway import energy_sways
    from ringwright.setting.doff import solve_doff
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    doff = solve_doff(mill, *names, tried)
    found = energy_by_part(doff, mill.power)
    return mill, doff, found, energy_sways(mill, doff, tried)


def counted(where: str | Mill, names: tuple[str, str], table: str | Csv | None, records: str | None) -> Counted | None:
    """Give what the mill's own counts say of a setting: from a CSV file, or from its records; None without either.

    Raises Refusal if both are given, and for counts that cannot be used.
    """
    from ringwright.economy.counting import counted as told
    from ringwright.economy.counting import study_breaks
    from ringwright.setting.choice import AS_SET
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    counts, origin = _counts(mill, names, table, records)
    return told(study_breaks(mill, names, AS_SET, counts), origin) if counts else None


def _counts(
    mill: Mill, names: tuple[str, str], table: str | Csv | None, records: str | None
) -> tuple[list[Count], str]:
    """Read the counts of a table or of the records, with where they came from in words; none without either."""
    from ringwright.economy.counting import read_counts
    from ringwright.economy.csv_table import csv_of
    from ringwright.refusal import Fault, Refusal
    from ringwright.verbs.recorded import counts_from_records

    if table and records:
        raise Refusal(Fault(where="--counts and --records", got="both given", wants="one of them"))
    if records:
        return counts_from_records(records, mill, names)
    if not table:
        return [], ""
    read = csv_of(table)
    return read_counts(read.text, read.name), f"counts in {Path(read.name).name}"


def cost(
    where: str | Mill, names: tuple[str, str], tried: Trial, rate: float | None, counts: Counted | None = None
) -> Costing:
    """Reckon the cost of a kilogram over speed, from the setting's break rate [per 1000 spindle hours] if known."""
    from ringwright.economy.costing import costing as costed
    from ringwright.refusal import Fault, Refusal
    from ringwright.setting.doff import solve_doff
    from ringwright.verbs.app import open_mill

    if rate is not None and not 0.1 <= rate <= 2000:
        raise Refusal(Fault(where="the break rate", got=f"{rate:g}", wants="from 0.1 to 2000 per 1000 spindle hours"))
    if rate is not None and counts is not None:
        raise Refusal(Fault(where="--rate", got="given beside counts", wants="given alone, or left out"))
    mill = open_mill(where)
    return costed(mill, solve_doff(mill, *names), solve_doff(mill, *names, tried), rate, counts)


def breaks(
    where: str | Mill, names: tuple[str, str], tried: Trial, table: str | Csv | None, records: str | None = None
) -> tuple[Doff, BreakStudy, str]:
    """Compare the end breaks of a trial with those of the setting, calibrated by counts (CSV or records) if given.

    Gives the doff as tried, the study, and where the counts came from in words ("" without any).
    """
    from ringwright.economy.counting import study_breaks
    from ringwright.setting.doff import solve_doff
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    counts, origin = _counts(mill, names, table, records)
    return solve_doff(mill, *names, tried), study_breaks(mill, names, tried, counts), origin


def calibrate(
    where: str | Mill, names: tuple[str, str], readings: str | Csv, hold: Sequence[str], date: str | None, *,
    replace: bool,
) -> tuple[Calibration, Path | None]:  # fmt: skip
    """Fit friction and drag to a CSV of readings, or the demo's; with a date, keep the fit and give its file.

    A fit is kept beside the mill's own file, so for a mill that is open already there is no date.
    """
    from ringwright.economy.csv_table import csv_of
    from ringwright.mill import demo_mill_path
    from ringwright.setting.choice import choose
    from ringwright.uncertainty.calibration import calibrate as calibrated
    from ringwright.uncertainty.keeping import calibration_toml, keep, place_to_keep
    from ringwright.uncertainty.readings import read_readings
    from ringwright.verbs.app import DEMO, open_mill

    if readings == DEMO:
        readings = str(demo_mill_path() / f"readings_{'_'.join(names)}.csv")
    choice = choose(open_mill(where), *names)
    kept = isinstance(where, str) and where != DEMO and date is not None
    file = place_to_keep(str(where), "-".join(names), str(date), replace=replace) if kept else None
    read = csv_of(readings)
    found = calibrated(choice, read_readings(read.text, read.name), hold)
    if file is not None:
        keep(file, calibration_toml(found, str(date), read.name))
    return found, file


def spread(opened: Opened, names: tuple[str, str], tried: Trial, doffs: int, watch: Watching = None) -> SpreadStudy:
    """Carry the spread of the inputs through about so many doffs, 64 to 65 536; a fit's errors among them."""
    from ringwright.improve.watch import NOBODY, Watch
    from ringwright.refusal import Fault, Refusal
    from ringwright.setting.choice import choose
    from ringwright.uncertainty.spread import study_spread

    if not 64 <= doffs <= 65536:
        raise Refusal(Fault(where="the number of doffs", got=str(doffs), wants="from 64 to 65536"))
    choice = choose(opened.mill, *names, tried)
    return study_spread(choice, doffs, fitted=opened.fit, watch=NOBODY if watch is None else Watch(*watch))


def compare(
    where: str | Mill, a: tuple[str, str], b: tuple[str, str], tried: str | Trial, other: str | Mill | None = None
) -> SideBySide:
    """Compare a frame and yarn as set with another pair, or the same, with what is tried on it ("traveller=40mg").

    ``other`` is the mill that B stands in, where it is not that of A (such as one with another fit).
    """
    from ringwright.economy.compare import compare as compared
    from ringwright.economy.trying import read_trial
    from ringwright.setting.choice import AS_SET
    from ringwright.verbs.app import open_mill

    mill = open_mill(where)
    trial = read_trial(tried) if isinstance(tried, str) else tried
    return compared(mill, (*a, AS_SET), (*b, trial), None if other is None else open_mill(other))
