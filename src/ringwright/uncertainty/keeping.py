"""Keep a fit beside the mill as a TOML file that a person can read, and never write over an earlier one unasked."""

from __future__ import annotations

import os
import re
from pathlib import Path

import numpy as np

from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.uncertainty.calibration import Calibration
from ringwright.units import in_unit

__all__ = ["LATEST", "calibration_toml", "find_fit", "keep", "kept_fits", "place_to_keep"]

LATEST = "latest"
"""The word for the fit with the last date."""
FOLDER = "calibration"


def place_to_keep(mill: str, name: str, date: str, *, replace: bool) -> Path:
    """Give the file that a fit is to be kept in: calibration/NAME-DATE.toml in the mill's folder, or beside its file.

    Raises Refusal if it is there already and is not to be replaced.
    """
    file = _folder(mill) / f"{name}-{date}.toml"
    if file.exists() and not replace:
        mend = "Add --replace to write over it, or --no-keep to look only."
        raise Refusal(Fault(where=str(file), got="there already", wants="a new file", mend=mend))
    return file


def _folder(mill: str) -> Path:
    where = Path(mill)
    return (where if where.is_dir() else where.parent) / FOLDER


def find_fit(mill: str, name: str, asked: str) -> Path:
    """Give the file of a fit of FRAME-YARN kept beside a mill: the latest, that of a date, or a file named as such.

    Raises Refusal with the fits that there are.
    """
    if asked.endswith(".toml"):
        return Path(asked)
    there = kept_fits(mill, name)
    if not there:
        mend = "Fit and keep one with: ringwright calibrate"
        wants = f"a date of a fit of {name} kept in {_folder(mill)}"
        raise Refusal(Fault(where="--fit", got=f'"{asked}", where none is kept', wants=wants, mend=mend))
    if asked == LATEST:
        return there[max(there)]
    if asked not in there:
        wants = f"{LATEST}, the date of a kept fit, or a fit's file"
        raise Refusal(Fault(where="--fit", got=f'"{asked}"', wants=wants, mend=nearest(asked, [LATEST, *there])))
    return there[asked]


def kept_fits(mill: str, name: str) -> dict[str, Path]:
    """Give the files of the fits of FRAME-YARN that are kept beside a mill, by their dates, oldest first."""
    dated = re.compile(re.escape(name) + r"-(\d{4}-\d\d-\d\d)\.toml")
    return {found[1]: file for file in sorted(_folder(mill).glob("*.toml")) if (found := dated.fullmatch(file.name))}


def keep(file: Path, text: str) -> None:
    """Write the file whole or not at all; Refusal if it cannot be written."""
    draft = file.with_name(f".{file.name}.new")
    try:
        file.parent.mkdir(exist_ok=True)
        draft.write_text(text, encoding="utf-8")
        os.replace(draft, file)  # noqa: PTH105 - as one step, also over an earlier file
    except OSError as error:
        draft.unlink(missing_ok=True)
        got = (error.strerror or "not writable").lower()
        raise Refusal(Fault(where=str(file), got=got, wants="a file that can be written")) from None


def calibration_toml(found: Calibration, date: str, source: str) -> str:
    """Write a fit as TOML: what was fitted, how sure it is, and the readings it came from."""
    choice, fit = found.choice, found.fit
    name = f"{choice.frame.name}-{choice.yarn.name}"
    lines = [
        "# Fitted by ringwright calibrate; other commands use it with --fit. The mill's files stay as they are.",
        f"[calibration.{_quoted(name)}]",
        f"frame = {_quoted(choice.frame.name)}",
        f"yarn = {_quoted(choice.yarn.name)}",
        f"date = {date}",
        f"readings_file = {_quoted(Path(source).name)}",
        f"scatter_cN = {_number(in_unit(fit.scatter, 'force', 'cN'))}",
        f"readings_to_spare = {fit.freedom}",
        f"correlation_of_logarithms = [{', '.join(_row(row) for row in fit.correlation)}]",
        f"not_told_apart = [{', '.join(_quoted(f'{a} and {b}') for a, b, _ in fit.not_told_apart())}]",
        f"ran_to_the_edge = [{', '.join(_quoted(name) for name in fit.at_edge)}]",
    ]
    for i, parameter in enumerate(found.sought):
        low, high = fit.interval()[i]
        lines += [
            "",
            f"[calibration.{_quoted(name)}.fitted.{_quoted(parameter.name)}]",
            f"key = {_quoted(parameter.key)}",
            f"before = {_number(found.before[i])}",
            f"value = {_number(fit.values[i])}",
            f"standard_error = {_number(fit.standard_errors[i])}",
            f"log_standard_error = {_number(float(np.sqrt(fit.log_covariance[i, i])))}",
            f"interval_95 = [{_number(low)}, {_number(high)}]",
        ]
    if found.held:
        lines += ["", f"[calibration.{_quoted(name)}.held]"]
        lines += [f"{_quoted(held)} = {_number(value)}" for held, value in found.held.items()]
    return "\n".join(lines + _readings(found, name)) + "\n"


def _readings(found: Calibration, name: str) -> list[str]:
    lines = []
    rows = zip(found.readings, found.fit.residuals, found.places.time, strict=True)
    for reading, left, time in rows:
        lines += [
            "",
            f"[[calibration.{_quoted(name)}.readings]]",
            f"minute = {_number(time / 60)}",
            f"stroke = {_number(reading.stroke)}",
            f"at = {_quoted(reading.at)}",
            f"tension_cN = {_number(in_unit(reading.tension, 'force', 'cN'))}",
            f"left_by_fit_cN = {_number(in_unit(float(left), 'force', 'cN'))}",
        ]
        if reading.traveller is not None:
            lines.append(f"traveller_mg = {_number(in_unit(reading.traveller, 'mass', 'mg'))}")
        if reading.speed is not None:
            lines.append(f"speed_rpm = {_number(in_unit(reading.speed, 'rotation', 'rpm'))}")
    return lines


def _row(values: Array) -> str:
    return f"[{', '.join(_number(value) for value in values)}]"


def _number(value: float) -> str:
    text = f"{float(value):.6g}"
    return text if any(sign in text for sign in ".en") else f"{text}.0"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
