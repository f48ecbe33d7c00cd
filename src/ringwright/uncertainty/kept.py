"""A fit that was kept, read back: its values go in place of the mill's, its errors into the spread."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import stdtrit

from ringwright.mill import Mill
from ringwright.mill.table import Table, number_at, stated_at
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal
from ringwright.uncertainty.calibration import PARAMETERS

__all__ = ["FULL_KEYS", "KeptFit", "full_key", "read_fit", "with_fit"]

ALIKE = 1e-3
"""Relative difference from which a value that the fit held counts as another one now."""


def full_key(key: str) -> str:
    """Give the key of a parameter with its part: "frame.ring.friction" for "ring.friction"."""
    return f"frame.{key}" if key.startswith("ring.") else f"yarn.{key}"


FULL_KEYS = {parameter.name: full_key(parameter.key) for parameter in PARAMETERS}


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFit:
    """Values fitted to tension readings of one frame and yarn, with what is known of them."""

    frame: str
    yarn: str
    date: str
    readings: int
    names: tuple[str, ...]
    """Of the p parameters, as "ring friction"."""
    values: Array
    log_covariance: Array
    """Of the values' logarithms, (p, p)."""
    freedom: int
    """Readings less parameters."""
    held: Mapping[str, float]
    """What the fit took as known, by name."""
    not_told_apart: tuple[str, ...]

    @property
    def words(self) -> str:
        """Say when it was made and from what."""
        return f"fitted on {self.date} from {self.readings} readings"

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of the parameters with their part of the mill, as "frame.ring.friction"."""
        return tuple(FULL_KEYS[name] for name in self.names)

    @property
    def log_errors(self) -> Array:
        """Standard errors of the values' logarithms, (p,)."""
        return np.asarray(np.sqrt(np.diag(self.log_covariance)), dtype=np.float64)

    def interval(self, chance: float = 0.95) -> Array:
        """Give the interval of each value, (p, 2), by Student's law on its logarithm."""
        half = float(stdtrit(self.freedom, (1 + chance) / 2)) * self.log_errors
        return np.stack([self.values * np.exp(-half), self.values * np.exp(half)], axis=1)

    def notes(self, mill: Mill) -> tuple[str, ...]:
        """Say what a reader of results with this fit must know, given the mill as it is now."""
        told = [f"The readings could not tell {pair} apart: trust them together only." for pair in self.not_told_apart]
        for name, held in self.held.items():
            part, _, key = FULL_KEYS[name].partition(".")
            entry: Table = mill.frames[self.frame] if part == "frame" else mill.yarns[self.yarn]
            now = number_at(entry, key)
            if now is not None and abs(now - held) > ALIKE * held:
                told.append(f"The fit held {name} at {held:.3g}; the mill's file now says {now:.3g}: fit again.")
        return tuple(told)


def with_fit(mill: Mill, kept: KeptFit) -> Mill:
    """Give the mill with a fit's values in its frame and yarn, marked measured, and the band of ring friction with it.

    The band becomes the fit's 95 % interval. Raises Refusal for a frame or yarn that the mill does not have.
    """
    faults = [
        Fault(where=f"the fit's {kind}", got=f'"{name}"', wants=f"a {kind} of this mill")
        for kind, name, known in (("frame", kept.frame, mill.frames), ("yarn", kept.yarn, mill.yarns))
        if name not in known
    ]
    if faults:
        raise Refusal(faults)
    frame, yarn = mill.frames[kept.frame], mill.yarns[kept.yarn]
    said = f"measured, {kept.words}"
    for name, value, interval in zip(kept.names, kept.values, kept.interval(), strict=True):
        key = FULL_KEYS[name].partition(".")[2]
        if name == "ring friction":
            field = stated_at(type(frame), key)
            low, high = (float(np.clip(end, *(field.range if field else interval))) for end in interval)
            ends = {"friction": float(value), "friction_low": low, "friction_high": high}
            frame = frame.model_copy(
                update={
                    "ring": frame.ring.model_copy(update=ends),
                    "origins": frame.origins | {f"ring.{end}": said for end in ends},
                    "spread": {k: text for k, text in frame.spread.items() if k != key},
                }
            )
        else:
            yarn = yarn.model_copy(
                update={
                    key: float(value),
                    "origins": yarn.origins | {key: said},
                    "spread": {k: text for k, text in yarn.spread.items() if k != key},
                }
            )
    return mill.model_copy(
        update={"frames": mill.frames | {frame.name: frame}, "yarns": mill.yarns | {yarn.name: yarn}}
    )


def read_fit(text: str, name: str) -> KeptFit:
    """Read a fit from the TOML that ``calibration_toml`` writes; Refusal with every fault.

    A fit with a parameter at the end of its range is refused, as its errors mean nothing.
    """
    try:
        tables: Any = tomllib.loads(text).get("calibration", {})
    except tomllib.TOMLDecodeError as error:
        raise Refusal(Fault(where=name, got=f"no TOML ({error})", wants="a fit that calibrate kept")) from None
    if not isinstance(tables, dict) or len(tables) != 1 or not isinstance(given := next(iter(tables.values())), dict):
        raise Refusal(Fault(where=name, got="without one [calibration.NAME] table", wants="a fit that calibrate kept"))
    edge = given.get("ran_to_the_edge", [])
    if edge:
        mend = "Calibrate again with other readings, or hold this parameter."
        got = f"a fit in which {', '.join(map(str, edge))} ran to the end of its range"
        raise Refusal(Fault(where=name, got=got, wants="one whose values lie inside their ranges", mend=mend))
    try:
        return _fit(given)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        got = f"without what a fit needs ({str(error).splitlines()[0][:80]})"
        mend = "Make it again with: ringwright calibrate"
        raise Refusal(Fault(where=name, got=got, wants="a fit as calibrate keeps it", mend=mend)) from None


def _fit(given: Mapping[str, Any]) -> KeptFit:
    """Make the fit of its table; KeyError, TypeError or ValueError for what is missing or cannot be."""
    fitted = given["fitted"]
    names = tuple(str(name) for name in fitted)
    strange = [name for name in (*names, *given.get("held", {})) if name not in FULL_KEYS]
    if strange or not names:
        raise ValueError(f"no known parameter: {', '.join(strange)}" if strange else "nothing is fitted")
    values = np.array([float(fitted[name]["value"]) for name in names])
    errors = np.array([float(fitted[name]["log_standard_error"]) for name in names])
    told = np.array(given["correlation_of_logarithms"], dtype=np.float64)
    if told.shape != (len(names),) * 2 or not np.allclose(told, told.T) or np.linalg.eigvalsh(told)[0] < -1e-6:
        raise ValueError("correlation_of_logarithms is no correlation of the parameters")
    for parameter in PARAMETERS:
        if parameter.name in names and not parameter.low <= float(fitted[parameter.name]["value"]) <= parameter.high:
            raise ValueError(f"{parameter.name} is out of its range")
    freedom, readings = int(given["readings_to_spare"]), len(given["readings"])
    if freedom < 1 or freedom + len(names) != readings or not np.all(errors > 0) or not np.all(np.isfinite(errors)):
        raise ValueError("its readings, spare readings and errors do not fit together")
    return KeptFit(
        frame=str(given["frame"]), yarn=str(given["yarn"]), date=str(given["date"]), readings=readings, names=names,
        values=values, log_covariance=np.outer(errors, errors) * told, freedom=freedom,
        held={str(key): float(value) for key, value in given.get("held", {}).items()},
        not_told_apart=tuple(str(pair) for pair in given.get("not_told_apart", [])),
    )  # fmt: skip
