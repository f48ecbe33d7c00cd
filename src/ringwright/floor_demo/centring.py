"""Draw the demonstration's rounds of centring by chance, and give those that come with the program."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from ringwright.physics.real import Array

__all__ = ["DESCRIPTION", "ROUNDS", "DemoRound", "demo_rounds", "draw_rounds"]

DESCRIPTION: Final = Path(__file__).parent / "centring.toml"
"""The file that says what is planted."""
ROUNDS: Final = Path(__file__).parent / "rounds"
"""The folder of the rounds as they come with the program."""

_PARTS: Final = ("ring", "guide", "control ring")
_SPINDLES, _SIDE = 1008, 504


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoRound:
    """One invented round: frame, day ("2026-03-09"), the file's name and its text."""

    frame: str
    day: str
    name: str
    text: str


def demo_rounds(frame: str) -> tuple[DemoRound, ...]:
    """Give the rounds of a frame that come with the program, first to last; none for a frame that has none."""
    paths = sorted(ROUNDS.glob(f"centring_{frame}_*.csv")) if frame.isalnum() else []
    return tuple(
        DemoRound(frame=frame, day=path.stem.rpartition("_")[2], name=path.name, text=path.read_text(encoding="utf-8"))
        for path in paths
    )


def draw_rounds() -> tuple[DemoRound, ...]:
    """Draw every round of the description; the same description gives the same text on one version of numpy."""
    told = tomllib.loads(DESCRIPTION.read_text(encoding="utf-8"))
    rng = np.random.default_rng(told["seed"])
    made = []
    for frame, of_frame in told["frames"].items():
        stands = {part: _ordinary(rng, part, of_frame) for part in _PARTS}
        for number, day in enumerate(of_frame["days"]):
            if number:
                stands = {part: _changed(rng, part, one, of_frame) for part, one in stands.items()}
            last = number == len(of_frame["days"]) - 1
            rows = _rows(rng, stands, told) + (of_frame.get("slips", {}).get("last", []) if last else [])
            head = f"# {frame} of {day}. {told['note']}.\nspindle,part,dx (mm),dy (mm)\n"
            name = f"centring_{frame}_{day}.csv"
            made.append(DemoRound(frame=frame, day=str(day), name=name, text=head + "\n".join(rows) + "\n"))
    return tuple(made)


def _ordinary(rng: np.random.Generator, part: str, told: dict[str, Any]) -> Array:
    """Draw where a part stands in the first round (spindles, 2) [mm], the planted faults with it."""
    stands = rng.normal(0.0, told["scatter"][part], (_SPINDLES, 2))
    for spindle, vector in told.get("single", {}).get(part, {}).items():
        stands[int(spindle) - 1] = vector
    rail = told.get("rail")
    if rail and rail["part"] == part:
        ordinary = np.array([k for k in _side(rail["side"]) if str(k + 1) not in told["single"][part]])
        across = ordinary % _SIDE / (_SIDE - 1) - 0.5
        stands[ordinary] += np.stack((np.full(len(across), rail["along"]), rail["out"] + rail["out_trend"] * across), 1)
    return stands


def _changed(rng: np.random.Generator, part: str, stands: Array, told: dict[str, Any]) -> Array:
    """Let a part wander for half a year, and its rail move."""
    later = stands + rng.normal(0.0, told["wander"][part], stands.shape)
    rail = told.get("rail")
    if rail and rail["part"] == part:
        later[_side(rail["side"]), 1] += rail["out_change"]
    return later


def _side(side: int) -> range:
    return range((side - 1) * _SIDE, side * _SIDE)


def _rows(rng: np.random.Generator, stands: dict[str, Array], told: dict[str, Any]) -> list[str]:
    """Read each part with the gauge's error, some rings twice; the gauge shows hundredths of a millimetre."""
    rows = [f"{k + 1},{part},{_read(rng, stands[part][k], told)}" for k in range(_SPINDLES) for part in _PARTS]
    twice = np.sort(rng.choice(_SPINDLES, told["repeated"], replace=False)).tolist()
    return rows + [f"{k + 1},ring,{_read(rng, stands['ring'][k], told)}" for k in twice]


def _read(rng: np.random.Generator, at: Array, told: dict[str, Any]) -> str:
    read = at + rng.normal(0.0, told["gauge"], 2)
    return f"{read[0]:.2f},{read[1]:.2f}".replace("-0.00", "0.00")


if __name__ == "__main__":
    ROUNDS.mkdir(exist_ok=True)
    for one in draw_rounds():
        (ROUNDS / one.name).write_text(one.text, encoding="utf-8", newline="\n")
