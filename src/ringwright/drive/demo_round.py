"""The demonstration's rounds of spindle speeds, drawn from the model with what its description plants."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final

import numpy as np

from ringwright.drive.frame_drive import FrameDrive
from ringwright.drive.twist_spread import twist_spread
from ringwright.refusal import Fault, Refusal

__all__ = ["DESCRIPTION", "Planted", "demo_round", "planted", "planted_words"]

DESCRIPTION: Final = Path(__file__).parent / "demo_round.toml"
"""The file that says what is planted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planted:
    """What is planted in a frame's round: slow tapes (from 1) and spindles with their share, and misread spindles."""

    yarn: str
    slow_tapes: dict[int, float]
    slow_spindles: dict[int, float]
    half_speed: tuple[int, ...]


def planted(frame: str) -> Planted:
    """Read what is planted on a frame; Refusal for a frame without a demonstration round."""
    told = _told()
    known = [name for name, one in told.items() if isinstance(one, dict)]
    if frame not in known:
        wants = f"one of {', '.join(known)}, the frames with a demonstration round"
        mend = "For another frame, give the file of your own round."
        raise Refusal(Fault(where="--readings demo", got=f"asked for {frame}", wants=wants, mend=mend))
    one = told[frame]
    return Planted(
        yarn=one["yarn"],
        slow_tapes={int(k): share for k, share in one["slow_tapes"].items()},
        slow_spindles={int(k): share for k, share in one["slow_spindles"].items()},
        half_speed=tuple(one["half_speed"]),
    )


def planted_words(frame: str) -> str:
    """Say in a sentence what is planted in a frame's round."""
    one = planted(frame)
    said = [f"tape {k} slow by {100 * share:g} %" for k, share in one.slow_tapes.items()]
    said += [f"spindle {k} slow by {100 * share:g} %" for k, share in one.slow_spindles.items()]
    said += [f"spindle {k} read at half its speed" for k in one.half_speed]
    return f"Planted in this imaginary round: {'; '.join(said) or 'nothing'}."


def demo_round(driven: FrameDrive) -> str:
    """Write the round of a frame as CSV, the same at every call."""
    told, frame = _told(), driven.frame
    one, faults = told[frame.name], planted(frame.name)
    rng = np.random.default_rng([told["seed"], *frame.name.encode()])
    n = int(frame.spindles)
    speed = driven.speed * (1 + one["offset"])
    chance = twist_spread(driven).chance
    for name, width in sorted(chance.items()):
        shared = name == "thickness of the tapes"
        drawn = rng.normal(0.0, width, driven.belt.max() + 1 if shared else n)
        speed = speed * (1 + (drawn[driven.belt] if shared else drawn))
    for tape, share in faults.slow_tapes.items():
        speed = np.where(driven.belt == tape - 1, speed * (1 - share), speed)
    for spindle, share in faults.slow_spindles.items():
        speed[spindle - 1] *= 1 - share
    speed = speed * (1 + rng.normal(0.0, told["reading_error"], n))
    for spindle in faults.half_speed:
        speed[spindle - 1] /= 2
    return _written(frame.name, speed * 60 / (2 * np.pi), told, frame.sides)


def _written(frame: str, rpm: Sequence[float] | np.ndarray[Any, Any], told: dict[str, Any], sides: int) -> str:
    half = len(rpm) // int(sides)
    walk = [*range(half), *range(len(rpm) - 1, half - 1, -1)]
    start, step = datetime.fromisoformat(told["first_moment"]), timedelta(seconds=told["seconds_for_one"])
    lines = ["# An imaginary round of Alder Vale Spinning; demo_round.toml says what is planted in it."]
    lines.append("frame,spindle,speed (rpm),moment")
    to = told["read_to_rpm"]
    for at, k in enumerate(walk):
        lines.append(f"{frame},{k + 1},{to * round(float(rpm[k]) / to):.0f},{(start + at * step).isoformat()}")
    return "\n".join(lines) + "\n"


def _told() -> dict[str, Any]:
    return tomllib.loads(DESCRIPTION.read_text(encoding="utf-8"))
