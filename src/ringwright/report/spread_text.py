"""The spread of a doff's results, and which input matters most, as text and as a figure."""

from __future__ import annotations

import numpy as np

from ringwright.report import svg
from ringwright.report.chart import middle
from ringwright.report.economy_text import head
from ringwright.report.number import digits
from ringwright.report.svg import Face, Pen
from ringwright.uncertainty.inputs import Input
from ringwright.uncertainty.ranking import Indices
from ringwright.uncertainty.spread import RESULTS, Result, SpreadStudy
from ringwright.units import NARROW_SPACE, show

__all__ = ["ranking_chart", "spread_text"]

SEEN = 0.01
"""Share of the variance below which an input is not named."""


def spread_text(study: SpreadStudy) -> str:
    """Tell the inputs with their spread, each result with its interval, and the ranking of the inputs."""
    doffs = study.values.shape[1]
    lines = [*head(study.choice, "how sure the results are"), ""]
    lines.append(f"{'Input':<34}{'value':>12}   {'19 times in 20':<26}said by")
    lines += [_input_line(one) for one in study.inputs]
    lines += [
        "  The fitted ones hang together as the fit says (Gaussian copula), and are ranked as one."
        for group in study.groups
        if len(group) > 1
    ]
    lines += ["", f"{'Result through the doff':<54}{'middle':>10}   95 % interval"]
    for result, value, (low, high) in zip(RESULTS, study.middle, study.interval(), strict=True):
        ends = " to ".join(_shown(v, result) for v in (low, high))
        lines.append(f"  {result.name:<52}{_shown(value, result):>10}   {ends}")
    lines += ["", f"Computed from {doffs} doffs of 200 places, drawn so as to fill the spreads evenly (Sobol points)."]
    if doffs < study.asked:
        lines.append(f"Ended by hand: {doffs} of {study.asked} doffs were solved, and nothing can be ranked from them.")
    if study.unsteady:
        share = digits(100 * study.unsteady / doffs, 0.1)
        lines.append(
            f"In {study.unsteady} of them ({share} %) some place has no steady balloon: intervals are of the others."
        )
    lines += ["", *_ranking(study)]
    return "\n".join(lines).replace(NARROW_SPACE, " ")


def _shown(value: float, result: Result) -> str:
    return show(float(value), result.quantity, result.unit, result.digits)


def _input_line(one: Input) -> str:
    ends = " to ".join(show(v, one.quantity, one.unit) for v in (one.low, one.high))
    return f"  {one.key:<32}{show(one.value, one.quantity, one.unit):>12}   {ends:<26}{one.origin}"


def _ranking(study: SpreadStudy) -> list[str]:
    if study.values.shape[1] < study.asked:
        return []
    if all(found is None for found in study.ranking):
        return ["No ranking: too few of the doffs drawn have a steady balloon throughout. Draw more with --doffs."]
    lines = [] if not study.unsteady else ["The ranking looks only at those draws whose doffs all spin."]
    lines += ["Which input matters most: its share of the variance, with what it makes together with others"]
    for result, found in zip(RESULTS, study.ranking, strict=True):
        if found is None:
            continue
        order = np.argsort(-found.total)
        lines.append(f"  {result.name}")
        lines += [
            f"    {_short(study.ranked[i]):<32}{digits(min(100.0, 100 * float(found.total[i])), 1):>5} %"
            f"  (s.e. {digits(100 * float(found.total_error[i]), 1)} %)"
            for i in order[:4]
            if found.total[i] > SEEN
        ]
    best = _most(study)
    if best:
        lines += ["", f"To be surer, measure {best} first."]
    return lines


def _most(study: SpreadStudy) -> str:
    """Name the input with the largest share in the tension at the triangle."""
    found = study.ranking[0]
    if found is None:
        return ""
    best = int(np.argmax(found.total))
    return study.ranked[best] if len(study.groups[best]) == 1 else "more tensions and fit again"


def ranking_chart(study: SpreadStudy) -> str:
    """Draw, for each result, the total shares of the inputs as bars."""
    rows = [(result, found) for result, found in zip(RESULTS, study.ranking, strict=True) if found is not None]
    left, width, step = 250.0, 640.0, 17.0
    parts = [
        svg.text(
            (0, 13), "Which input matters most: share of the variance of each result, %", Face(size=14, weight=600)
        )
    ]
    y = 34.0
    for result, found in rows:
        parts.append(svg.text((0, y + 4), result.name, svg.NAME))
        y += step
        for i in np.argsort(-found.total)[:4]:
            if found.total[i] > SEEN:
                parts += _bar(_short(study.ranked[int(i)]), found, int(i), (left, width, y))
                y += step
        y += 8
    if not rows:
        parts.append(
            svg.text(
                (width / 2, y + 10), "no ranking: too few of the doffs drawn have a steady balloon", middle(svg.NAME)
            )
        )
        y += 30
    return svg.figure((width, y), "Shares of the variance by input.", parts)


def _short(name: str) -> str:
    """Shorten the names of inputs that were fitted together, so that they fit beside a bar."""
    return name if ", " not in name else "the fitted ones together"


def _bar(name: str, found: Indices, i: int, place: tuple[float, float, float]) -> list[str]:
    """Draw one bar: what the input makes alone is full, what it makes with others is pale."""
    left, width, y = place
    unit = width - left - 50
    alone, whole = (max(0.0, float(v[i])) for v in (found.first, found.total))
    alone, whole = min(alone, 1.0), min(max(whole, alone), 1.0)
    return [
        svg.text((left - 8, y + 4), name, Face(size=11.7, narrow=True, anchor="end")),
        svg.rectangle((left, y - 5), (unit * whole, 10), Pen(colour=svg.WOAD, width=0.8, fill=svg.WOADWASH)),
        svg.rectangle((left, y - 5), (unit * alone, 10), Pen(colour=svg.WOAD, width=0.8, fill=svg.WOAD)),
        svg.text((left + unit * whole + 6, y + 4), digits(100 * whole, 1), svg.TICK),
    ]
