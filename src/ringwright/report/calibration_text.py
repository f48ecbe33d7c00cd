"""A fit to tension readings as text for a person at a terminal."""

from __future__ import annotations

from ringwright.report.economy_text import head
from ringwright.report.number import digits
from ringwright.uncertainty.calibration import Calibration
from ringwright.units import NARROW_SPACE, in_unit

__all__ = ["calibration_text"]


def calibration_text(found: Calibration) -> str:
    """Tell values with errors, what the readings cannot tell apart, what each reading left, and how to use it."""
    fit = found.fit
    lines = [*head(found.choice, "fit to tension readings"), ""]
    lines.append(f"{len(found.readings)} readings (measured), {len(found.sought)} parameters (computed from them).")
    lines.append(
        f"Scatter of a reading about the fit: {_cn(fit.scatter)} cN, judged from {fit.freedom} readings to spare."
    )
    lines += ["", f"{'':<16}{'before':>10}{'fitted':>10}{'s.e.':>9}   95 % interval"]
    for i, parameter in enumerate(found.sought):
        low, high = fit.interval()[i]
        lines.append(
            f"  {parameter.name:<14}{found.before[i]:>10.3g}{fit.values[i]:>10.3g}{fit.standard_errors[i]:>9.2g}"
            f"   {low:.3g} to {high:.3g}"
        )
    lines += [f"  {name:<14}{value:>10.3g}{'held':>10}" for name, value in found.held.items()]
    if len(found.sought) > 1:
        pairs = [
            f"{a.name} and {b.name} {fit.correlation[i, j]:+.2f}"
            for i, a in enumerate(found.sought)
            for j, b in enumerate(found.sought)
            if i < j
        ]
        lines += ["", f"Correlation: {', '.join(pairs)}."]
    lines += ["", *_judged(found), "", *_left(found), "", *_use(found)]
    return "\n".join(lines).replace(NARROW_SPACE, " ")


def _cn(newton: float) -> str:
    return digits(in_unit(newton, "force", "cN"), 0.01)


def _judged(found: Calibration) -> list[str]:
    fit, lines = found.fit, []
    for a, b, r in fit.not_told_apart():
        i, j = fit.names.index(a), fit.names.index(b)
        trade = float(fit.log_covariance[i, j] / fit.log_covariance[i, i])
        turn = "raised" if trade > 0 else "lowered"
        by = digits(abs(100 * (1.1**trade - 1)), 1)
        lines.append(f"These readings cannot tell {a} from {b} (correlation {r:+.2f}):")
        lines.append(
            f"  with {a} raised by 10 % and {b} {turn} by {by} % they fit nearly as well. Hold one with --hold."
        )
    lines += [
        f"They hardly see {name}: its standard error is over half of its value. Hold it, or read where it matters more."
        for name in fit.hardly_seen()
    ]
    lines += [
        f"{name[:1].upper()}{name[1:]} ran to the end of its range: the readings ask for what the model cannot give,"
        " and no error here can be trusted."
        for name in fit.at_edge
    ]
    if not lines:
        lines.append("The readings tell these parameters apart.")
    lines.append(
        "Readings with other travellers and at foot and top of the stroke part them best; other speeds do not,"
    )
    lines.append("  as every tension grows alike with the square of speed.")
    return lines


def _left(found: Calibration) -> list[str]:
    lines = [f"{'Reading':>9}{'minute':>8}{'stroke':>8}{'at':>10}{'read':>9}{'fit':>9}{'left, cN':>10}"]
    for i, (r, left) in enumerate(zip(found.readings, found.fit.residuals, strict=True)):
        far = "  more than 3 times the scatter" if abs(left) > 3 * found.fit.scatter else ""
        lines.append(
            f"{i + 1:>9}{found.places.time[i] / 60:>8.0f}{100 * r.stroke:>6.0f} %{r.at:>10}{_cn(r.tension):>9}"
            f"{_cn(r.tension - float(left)):>9}{_cn(float(left)):>10}{far}"
        )
    return lines


def _use(found: Calibration) -> list[str]:
    lines = [
        "Once kept, other commands use the fit with --fit latest. To make it the mill's own, write into its file,",
        "with origin measured:",
    ]
    for parameter, value in zip(found.sought, found.fit.values, strict=True):
        on_frame = parameter.key.startswith("ring.")
        table = f"frame.{found.choice.frame.name}" if on_frame else f"yarn.{found.choice.yarn.name}"
        lines.append(f"  [{table}]  {parameter.key} = {value:.3g}")
    return lines
