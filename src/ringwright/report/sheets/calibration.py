"""A fit to tension readings on one sheet: the values with their errors, what each reading left, and how to use it."""

from __future__ import annotations

from ringwright.report.number import digits
from ringwright.report.sheets.sheet import Row, Sheet, Table
from ringwright.uncertainty.calibration import Calibration, Parameter
from ringwright.units import in_unit

__all__ = ["calibration_sheet"]

FAR = 3.0
"""Scatters from which a reading is called far from the fit."""
APART = (
    "Readings with other travellers and at foot and top of the stroke part the parameters best; other speeds do not, "
    "as every tension grows alike with the square of speed."
)
READING = (
    "Readings are taken on moving spindles, travellers and belts: keep the guards on, and let trained people read. "
    "Your mill's rules come first."
)


def calibration_sheet(found: Calibration) -> Sheet:
    """Tell values with errors, what the readings cannot tell apart, what each reading left, and how to use it."""
    judged = _judged(found)
    return Sheet(
        title=f"{found.choice.frame.name}, {found.choice.yarn.name}: fit to tension readings",
        answer=_answer(found, clear=not judged),
        rows=_rows(found),
        tables=(_values(found), _readings(found), _use(found)),
        warnings=judged,
        notes=(*_correlation(found), APART),
        cautions=(READING,),
    )


def _cn(newton: float) -> str:
    return digits(in_unit(newton, "force", "cN"), 0.01)


def _answer(found: Calibration, *, clear: bool) -> str:
    fit = found.fit
    pairs = zip(found.sought, fit.values, fit.standard_errors, strict=True)
    told = ", ".join(f"{one.name} {value:.3g} (s.e. {error:.2g})" for one, value, error in pairs)
    apart = " The readings tell these parameters apart." if clear else ""
    return f"{len(found.readings)} readings give {told}.{apart}"


def _rows(found: Calibration) -> tuple[Row, ...]:
    fit, count = found.fit, len(found.readings)
    scatter = f"judged from {fit.freedom} readings to spare"
    return (
        Row(name="Readings", value=str(count), unit="", origin="measured", raw=float(count)),
        Row(name="Scatter of a reading about the fit", value=_cn(fit.scatter), unit="cN", origin="computed",
            raw=fit.scatter, note=scatter),
    )  # fmt: skip


def _values(found: Calibration) -> Table:
    fit, rows = found.fit, []
    for i, parameter in enumerate(found.sought):
        low, high = fit.interval()[i]
        rows.append((parameter.name, f"{found.before[i]:.3g}", f"{fit.values[i]:.3g}", f"{fit.standard_errors[i]:.2g}",
                     f"{low:.3g} to {high:.3g}"))  # fmt: skip
    rows += [(name, f"{value:.3g}", "held", "-", "-") for name, value in found.held.items()]
    return Table(
        title="What was fitted (no unit: friction and drag are pure numbers)",
        columns=("Parameter", "before", "fitted", "s.e.", "95 % interval"),
        rows=tuple(rows),
        origin="computed from the readings; before: the mill's file",
        numbers=(1, 2, 3, 4),
    )


def _correlation(found: Calibration) -> tuple[str, ...]:
    if len(found.sought) < 2:
        return ()
    pairs = [
        f"{a.name} and {b.name} {found.fit.correlation[i, j]:+.2f}"
        for i, a in enumerate(found.sought)
        for j, b in enumerate(found.sought)
        if i < j
    ]
    return (f"Correlation: {', '.join(pairs)}.",)


def _judged(found: Calibration) -> tuple[str, ...]:
    fit, told = found.fit, []
    for a, b, r in fit.not_told_apart():
        i, j = fit.names.index(a), fit.names.index(b)
        trade = float(fit.log_covariance[i, j] / fit.log_covariance[i, i])
        turn = "raised" if trade > 0 else "lowered"
        by = digits(abs(100 * (1.1**trade - 1)), 1)
        told.append(
            f"These readings cannot tell {a} from {b} (correlation {r:+.2f}): with {a} raised by 10 % and {b} {turn} "
            f"by {by} % they fit nearly as well. Hold one (--hold)."
        )
    told += [
        f"They hardly see {name}: its standard error is over half of its value. Hold it, or read where it matters more."
        for name in fit.hardly_seen()
    ]
    told += [
        f"{name[:1].upper()}{name[1:]} ran to the end of its range: the readings ask for what the model cannot give,"
        " and no error here can be trusted."
        for name in fit.at_edge
    ]
    return tuple(told)


def _readings(found: Calibration) -> Table:
    far = FAR * found.fit.scatter
    pairs = list(zip(found.readings, found.fit.residuals, found.places.time, strict=True))
    return Table(
        title="What each reading left",
        columns=("Reading", "minute", "stroke, %", "at", "read, cN", "fit, cN", "left, cN"),
        rows=tuple(
            (str(i + 1), f"{time / 60:.0f}", f"{100 * r.stroke:.0f}", r.at, _cn(r.tension),
             _cn(r.tension - float(left)), _cn(float(left)))
            for i, (r, left, time) in enumerate(pairs)
        ),
        origin="read: measured; fit and left: computed",
        numbers=(0, 1, 2, 4, 5, 6),
        under=tuple("more than 3 times the scatter" if abs(left) > far else "" for _, left, _ in pairs),
    )  # fmt: skip


def _use(found: Calibration) -> Table:
    return Table(
        title="To make it the mill's own, write into its file, with origin measured",
        columns=("Table", "key", "value"),
        rows=tuple(
            (_table(found, one), one.key, f"{value:.3g}")
            for one, value in zip(found.sought, found.fit.values, strict=True)
        ),
        origin="computed from the readings",
        numbers=(2,),
        note="Or keep it beside the mill: other commands and pages then use it as a fit (--fit latest).",
    )


def _table(found: Calibration, parameter: Parameter) -> str:
    on_frame = parameter.key.startswith("ring.")
    return f"[frame.{found.choice.frame.name}]" if on_frame else f"[yarn.{found.choice.yarn.name}]"
