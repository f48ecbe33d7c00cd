"""The verbs that put what pays on a sheet: one answer, which the command line, the pages and the paper all show."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from ringwright.economy.csv_table import Csv
    from ringwright.mill import Mill
    from ringwright.report.sheets.sheet import Sheet
    from ringwright.setting.choice import Trial
    from ringwright.verbs.app import Watching
    from ringwright.verbs.fits import Opened

# A verb imports what it needs as it is called, so that no other command waits for it.
# ruff: noqa: PLC0415

__all__ = ["Counts", "Paid", "breaks", "calibrate", "compare", "cost", "course", "demo_readings", "energy",
           "improve", "spread", "survey"]  # fmt: skip

Names = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Counts:
    """The mill's own break counts: a CSV file (its path, or its text), or a store of records; both empty for none."""

    table: str | Csv | None = None
    records: str | None = None


@dataclass(frozen=True, slots=True)
class Paid:
    """An answer: ``sheet`` writes it, in the units chosen at that moment; ``values`` gives it for JSON."""

    sheet: Callable[[], Sheet]
    values: Callable[[], Mapping[str, Any]]


def energy(opened: Opened, names: Names, tried: Trial) -> Paid:
    """Part the power of one spindle of a frame and yarn (their names)."""
    from ringwright.report.sheets.energy import energy_sheet
    from ringwright.verbs import costing

    mill, doff, found, sways = costing.energy(opened.mill, names, tried)

    def values() -> Mapping[str, Any]:
        told: dict[str, Any] = {"watt": found.means}
        told["kWh_per_kg"] = {name: one / 3.6e6 for name, one in found.per_mass.items()}
        told["sways_kWh_per_kg"] = {one.name: [one.low / 3.6e6, one.high / 3.6e6] for one in sways}
        return told | opened.values

    return Paid(_fitted(partial(energy_sheet, mill, doff, found, sways, tried), opened), values)


def cost(opened: Opened, names: Names, tried: Trial, rate: float | None, counts: Counts) -> Paid:
    """Reckon the cost of a kilogram over speed; refuses a rate beside counts."""
    from ringwright.report.sheets.cost import cost_sheet
    from ringwright.verbs import costing

    known = costing.counted(opened.mill, names, counts.table, counts.records)
    found = costing.cost(opened.mill, names, tried, rate, known)
    return _plain(partial(cost_sheet, found, tried), opened)


def breaks(opened: Opened, names: Names, tried: Trial, counts: Counts) -> Paid:
    """Compare the end breaks of a trial with those of the setting."""
    from ringwright.report.sheets.breaks import breaks_sheet
    from ringwright.verbs import costing

    doff, study, origin = costing.breaks(opened.mill, names, tried, counts.table, counts.records)
    return _plain(partial(breaks_sheet, opened.mill, doff.choice, study, tried, origin), opened)


def compare(opened: Opened, names: tuple[Names, Names], tried: str | Trial, other: Opened) -> Paid:
    """Compare a pair of frame and yarn as set with another or the same of the mill that B stands in."""
    from ringwright.report.sheets.compare import compare_sheet
    from ringwright.verbs import costing

    found = costing.compare(opened.mill, *names, tried, other.mill)
    fits = (opened,) if other is opened else (opened, other)
    return _plain(partial(compare_sheet, found), *fits)


def spread(opened: Opened, names: Names, tried: Trial, doffs: int, watch: Watching = None) -> Paid:
    """Carry the spread of the inputs through about so many doffs."""
    from ringwright.report.sheets.spread import spread_sheet
    from ringwright.verbs import costing

    study = costing.spread(opened, names, tried, doffs, watch)
    return _plain(partial(spread_sheet, study, tried), opened)


def calibrate(
    mill: str | Mill, names: Names, readings: str | Csv, hold: Sequence[str] = (), *, date: str | None = None,
    replace: bool = False,
) -> tuple[Paid, Path | None]:  # fmt: skip
    """Fit friction and drag to readings; with a date, keep the fit beside the mill and give its file."""
    from ringwright.report.sheets.calibration import calibration_sheet
    from ringwright.verbs import costing

    found, file = costing.calibrate(mill, names, readings, hold, date, replace=replace)
    return _plain(partial(calibration_sheet, found)), file


def demo_readings(names: Names) -> str:
    """Give the text of the demo mill's readings of a frame and yarn (their names); "" where it has none."""
    from ringwright.mill import demo_mill_path

    file = demo_mill_path() / f"readings_{'_'.join(names)}.csv"
    return file.read_text(encoding="utf-8") if file.name in {one.name for one in file.parent.iterdir()} else ""


def course(
    opened: Opened, names: Names, tried: Trial, driven: dict[str, Any], limits: Sequence[str] = ()
) -> Paid:
    """Find the best speed through a doff; ``driven`` and ``limits`` as the verb ``best_course`` takes them."""
    from ringwright.report.improve_values import course_values
    from ringwright.report.sheets.course import course_sheet
    from ringwright.verbs import app

    study = app.best_course(opened.mill, *names, tried, driven, limits)
    return Paid(_fitted(partial(course_sheet, study, tried), opened), lambda: course_values(study) | opened.values)


def improve(
    opened: Opened, names: Names, counts: Counts, *, aim: str, watch: Watching = None,
    **asked: Any,  # noqa: ANN401 - as the verb ``improve`` takes it
) -> Paid:  # fmt: skip
    """Seek better parts and speeds for an aim; counts go with cost alone."""
    from ringwright.refusal import Fault, Refusal
    from ringwright.report.improve_values import improve_values
    from ringwright.report.sheets.improve import improve_sheet
    from ringwright.verbs import app, costing

    if aim != "cost" and (counts.table or counts.records):
        mend = "They go with --for cost."
        raise Refusal(Fault(where="--counts and --records", got=f"given for {aim}", wants="left out", mend=mend))
    known = costing.counted(opened.mill, names, counts.table, counts.records)
    study = app.improve(opened.mill, *names, aim=aim, watch=watch, counted=known, **asked)
    return Paid(_fitted(partial(improve_sheet, study), opened), lambda: improve_values(study) | opened.values)


def survey(mill: str | Mill, *, watch: Watching = None, **asked: Any) -> Paid:  # noqa: ANN401 - as ``survey`` takes it
    """Seek the least cost for every setting of a mill."""
    from ringwright.report.improve_values import survey_values
    from ringwright.report.sheets.survey import survey_sheet
    from ringwright.verbs import app

    found = app.survey(mill, watch=watch, **asked)
    return Paid(partial(survey_sheet, found), lambda: survey_values(found))


def _fitted(sheet: Callable[[], Sheet], *opened: Opened) -> Callable[[], Sheet]:
    """Say on a sheet which fits it rests on."""

    def told() -> Sheet:
        made = sheet()
        words = tuple(" ".join(one.words.split()) for one in opened if one.words)
        return replace(made, notes=(*words, *made.notes))

    return told


def _plain(sheet: Callable[[], Sheet], *opened: Opened) -> Paid:
    """Give an answer whose JSON is the sheet itself, with the fits it rests on."""
    from ringwright.report.sheets.sheet_values import sheet_values

    told = _fitted(sheet, *opened)
    fits = {key: value for one in opened for key, value in one.values.items()}
    return Paid(told, lambda: sheet_values(told()) | fits)
