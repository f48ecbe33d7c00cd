"""How sure a doff's results are, on one sheet: the inputs with their spread, each result's interval, the ranking."""

from __future__ import annotations

import numpy as np

from ringwright.report.number import digits
from ringwright.report.ranking_chart import SEEN, ranking_chart, short_name
from ringwright.report.sheets.rows import COMPUTED, row, setting_rows
from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.setting.choice import Trial
from ringwright.uncertainty.inputs import Input
from ringwright.uncertainty.ranking import Indices
from ringwright.uncertainty.spread import RESULTS, Result, SpreadStudy
from ringwright.units import chosen, show

__all__ = ["spread_sheet"]

MOST_NAMED = 4
"""Inputs named for each result."""


def spread_sheet(study: SpreadStudy, tried: Trial) -> Sheet:
    """Tell the inputs with their spread, each result with its interval, and the ranking of the inputs."""
    ranked = not _early(study) and any(found is not None for found in study.ranking)
    picture = Picture(
        title="Which input matters most: share of the variance of each result, %", svg=ranking_chart(study),
        headed=True, words="Full: what an input makes alone; pale: with what it makes together with others.",
    )  # fmt: skip
    return Sheet(
        title=f"{study.choice.frame.name}, {study.choice.yarn.name}: how sure the results are",
        answer=_answer(study, ranked=ranked),
        rows=(*_rows(study), *setting_rows(study.choice, tried)),
        tables=(_inputs(study), *((_ranking(study),) if ranked else ())),
        pictures=(picture,) if ranked else (),
        warnings=_warnings(study, ranked=ranked),
        notes=_notes(study),
    )


def _early(study: SpreadStudy) -> bool:
    return bool(study.values.shape[1] < study.asked)


def _answer(study: SpreadStudy, *, ranked: bool) -> str:
    result, (low, high) = RESULTS[0], study.interval()[0]
    ends = " to ".join(show(float(v), result.quantity, result.unit, result.digits) for v in (low, high))
    middle = show(float(study.middle[0]), result.quantity, result.unit, result.digits)
    told = f"The {result.name} is {middle}; nineteen times in twenty it lies in {ends}."
    best = _most(study) if ranked else ""
    return f"{told} To be surer, measure {best} first." if best else told


def _rows(study: SpreadStudy) -> tuple[Row, ...]:
    rows = []
    for result, value, (low, high) in zip(RESULTS, study.middle, study.interval(), strict=True):
        name, measure = f"{result.name[:1].upper()}{result.name[1:]}", (result.quantity, result.unit)
        low_row, high_row = (row("", float(end), measure, result.digits) for end in (low, high))
        interval = f"{low_row.value} to {high_row.value}, 95 %"
        rows.append(row(name, float(value), measure, result.digits, note=interval))
    return tuple(rows)


def _inputs(study: SpreadStudy) -> Table:
    together = any(len(group) > 1 for group in study.groups)
    note = "The fitted ones hang together as the fit says (Gaussian copula), and are ranked as one." if together else ""
    return Table(
        title="The inputs and their spread",
        columns=("Input", "value", "19 times in 20 from", "to", "said by"),
        rows=tuple(_input(one) for one in study.inputs),
        origin="each row says its own origin",
        numbers=(1, 2, 3),
        note=note,
        under=tuple(one.meaning for one in study.inputs),
    )


def _input(one: Input) -> tuple[str, ...]:
    measure = (one.quantity, one.unit)
    ends = [one.low, one.high]
    if chosen(one.unit) == "Ne":  # it runs the other way
        ends.reverse()
    return (one.key, show(one.value, *measure), *(show(v, *measure) for v in ends), one.origin)


def _ranking(study: SpreadStudy) -> Table:
    rows = [one for result, found in zip(RESULTS, study.ranking, strict=True) for one in _shares(study, result, found)]
    return Table(
        title="Which input matters most: its share of the variance, with what it makes together with others",
        columns=("Result", "Input", "share, %", "standard error, %"),
        rows=tuple(rows),
        origin=COMPUTED,
        numbers=(2, 3),
    )


def _shares(study: SpreadStudy, result: Result, found: Indices | None) -> list[tuple[str, str, str, str]]:
    if found is None:
        return []
    order = [int(i) for i in np.argsort(-found.total)[:MOST_NAMED] if found.total[i] > SEEN]
    return [
        (
            result.name, short_name(study.ranked[i]), digits(min(100.0, 100 * float(found.total[i])), 1),
            digits(100 * float(found.total_error[i]), 1),
        )
        for i in order
    ]  # fmt: skip


def _most(study: SpreadStudy) -> str:
    """Name the input with the largest share in the tension at the triangle."""
    found = study.ranking[0]
    if found is None:
        return ""
    best = int(np.argmax(found.total))
    return study.ranked[best] if len(study.groups[best]) == 1 else "more tensions and fit again"


def _warnings(study: SpreadStudy, *, ranked: bool) -> tuple[str, ...]:
    doffs, told = study.values.shape[1], []
    if _early(study):
        told.append(f"Ended by hand: {doffs} of {study.asked} doffs were solved, and nothing can be ranked from them.")
    elif not ranked:
        told.append("No ranking: too few of the doffs drawn have a steady balloon throughout. Draw more (--doffs).")
    if study.unsteady:
        share = digits(100 * study.unsteady / doffs, 0.1)
        told.append(
            f"In {study.unsteady} of them ({share} %) some place has no steady balloon: intervals are of the others."
        )
    return tuple(told)


def _notes(study: SpreadStudy) -> tuple[str, ...]:
    drawn = study.values.shape[1]
    told = f"Computed from {drawn} doffs of 200 places, drawn so as to fill the spreads evenly (Sobol points)."
    only = "The ranking looks only at those draws whose doffs all spin."
    return (told, only) if study.unsteady and not _early(study) else (told,)
