"""How the whole frame is driven: speed, pull and slip margin of every spindle, and what the drive loses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ringwright.drive.layout import belts_of
from ringwright.drive.load import SpindleLoad
from ringwright.drive.runs import drum_diameter, run_of
from ringwright.mill import Frame
from ringwright.physics.belt_run import Running, run_belt
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["BELT_PARTS", "FrameDrive", "bolster_power", "drive_frame", "least_margin"]

BELT_PARTS = ("creep and slip", "bending of belt or tape", "rollers or jockey", "the belt's load on the bolster")
"""What the drive loses, in the order told."""
TURNS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameDrive:
    """A frame's drive at the main speed; arrays are (N,), by spindle number, N spindles.

    ``speed`` [rad/s], its mean is the main speed unless wharves slip; ``pull`` of the belt at the wharve [N];
    ``margin`` the most pull over the pull wanted [1], inf without a belt; ``tension`` the contact tension of the belt
    before the wharve [N].
    ``belt`` says which belt or tape, -1 for none. ``drum_speed`` [rad/s] is what the drum needs for that main speed
    (nan without one), ``belt_speed`` [m/s] on to the drum. ``slip`` is the speed lost against the bare diameters of
    drum and wharve [1], all in all; negative where the belt's own height makes up for more than is lost.
    ``losses`` [W] for each spindle, by part; ``bolster`` [W] what is left of the mill's figure for the bare spindle.
    """

    frame: Frame
    load: SpindleLoad
    speed: Array
    pull: Array
    margin: Array
    tension: Array
    belt: np.ndarray[tuple[int, ...], np.dtype[np.int64]]
    runs: tuple[Running, ...]
    drum_speed: float
    belt_speed: float
    slip: float
    losses: dict[str, float]
    bolster: float

    @property
    def drawn(self) -> float:
        """Mean power of one spindle at the drum, or at its motor's shaft [W]."""
        return self.load.at_spindle(self.bolster) + sum(self.losses.values())

    @property
    def energy(self) -> float:
        """Energy from the mains for spindle and drive in the yarn made at the main speed [J/kg]."""
        return self.drawn / self.load.efficiency / self.load.output

    @property
    def drive_energy(self) -> float:
        """The drive's own share of that [J/kg]."""
        return sum(self.losses.values()) / self.load.efficiency / self.load.output


def drive_frame(frame: Frame, load: SpindleLoad, bolster: float | None = None) -> FrameDrive:
    """Give how a frame's spindles run at the load's main speed; raises Refusal where belt or drum cannot give the pull.

    The bolster's power [W] is found from the mill's figure for the bare spindle unless it is given, as it is when
    another wharve is tried under the same bolster.
    """
    if frame.drive.kind == "single-spindle motors":
        return _by_motors(frame, load, load.bare if bolster is None else bolster)
    held = bolster_power(frame, load) if bolster is None else bolster
    return _by_belts(frame, load, held)


def least_margin(frame: Frame, load: SpindleLoad, bolster: float) -> float:
    """Give the most pull over the pull wanted at the wharve that has least [1]; nought where belt or drum gives way."""
    runs = _found(frame, load, bolster, tuple({len(path) for path in belts_of(frame)}))[1]
    return min(float(run.margin.min()) for run in runs) if all(run.steady for run in runs) else 0.0


def bolster_power(frame: Frame, load: SpindleLoad) -> float:
    """Give the power [W] of one bolster: the mill's figure for the bare spindle less what the belt is found to lose.

    Nought where the belt alone is found to lose more than that figure.
    """
    bolster = load.bare
    for _ in range(6):
        losses = _by_belts(frame, load, bolster).losses
        bolster = max(0.0, load.bare - sum(losses.values()))
    return bolster


def _by_motors(frame: Frame, load: SpindleLoad, bolster: float) -> FrameDrive:
    one = np.ones(int(frame.spindles))
    return FrameDrive(
        frame=frame, load=load, speed=load.speed * one, pull=np.nan * one, margin=np.inf * one, tension=np.nan * one,
        belt=np.full(len(one), -1), runs=(), drum_speed=np.nan, belt_speed=np.nan, slip=0.0, losses={}, bolster=bolster,
    )  # fmt: skip


def _by_belts(frame: Frame, load: SpindleLoad, bolster: float) -> FrameDrive:
    paths = belts_of(frame)
    lengths = tuple(len(path) for path in paths)
    drum, runs = _found(frame, load, bolster, lengths)
    n = int(frame.spindles)
    told = {name: np.empty(n) for name in ("speed", "pull", "margin", "tension")}
    belt = np.empty(n, np.int64)
    for k, (path, run) in enumerate(zip(paths, runs, strict=True)):
        told["speed"][path], told["pull"][path] = run.spindle_speed, run.pull
        told["margin"][path], told["tension"][path] = run.margin, run.slack
        belt[path] = k
    _require_steady(frame, runs, lambda one: _found(one, load, bolster, lengths)[1])
    bare = drum * drum_diameter(frame) / frame.spindle.wharve_diameter
    return FrameDrive(
        frame=frame, load=load, **told, belt=belt, runs=runs, drum_speed=drum,
        belt_speed=drum * (drum_diameter(frame) / 2 + runs[0].neutral_height), slip=1 - load.speed / bare,
        losses=_losses(runs, n), bolster=bolster,
    )  # fmt: skip


def _found(
    frame: Frame, load: SpindleLoad, bolster: float, lengths: tuple[int, ...]
) -> tuple[float, tuple[Running, ...]]:
    """Find the drum speed at which the spindles' mean is the main speed, and how each belt runs then."""
    power, exponent = load.at_spindle(bolster), load.exponent(bolster)
    kinds = {n: run_of(frame, n, power, exponent, load.speed) for n in set(lengths)}
    drum = load.speed * frame.spindle.wharve_diameter / drum_diameter(frame)
    for _ in range(TURNS):
        ran = {n: run_belt(kind, drum) for n, kind in kinds.items()}
        mean = sum(float(ran[n].free_speed.sum()) for n in lengths) / sum(lengths)
        if abs(mean / load.speed - 1) < 1e-10 or not all(run.steady for run in ran.values()):
            break
        drum *= load.speed / mean
    return drum, tuple(ran[n] for n in lengths)


def _losses(runs: tuple[Running, ...], spindles: int) -> dict[str, float]:
    parts = (
        sum(float(run.sliding.sum()) + run.drum_sliding for run in runs),
        sum(float(run.bending.sum()) for run in runs),
        sum(float(run.rollers.sum()) for run in runs),
        sum(float(run.bearing.sum()) for run in runs),
    )
    return {name: part / spindles for name, part in zip(BELT_PARTS, parts, strict=True)}


def _require_steady(frame: Frame, runs: tuple[Running, ...], again: Callable[[Frame], tuple[Running, ...]]) -> None:
    """Refuse a belt that goes slack or a drum that slips, with the tension that would hold it."""
    worst = min(runs, key=lambda run: run.drum_margin)
    if worst.steady:
        return
    taped = frame.drive.kind == "four-spindle tape"
    key, now = ("tape", frame.drive.tape.tension) if taped else ("belt", frame.drive.belt.tension)
    state = "slack" if worst.off_drum <= 0 else "slipping on its drum"
    needed = _tension_needed(frame, key, now, again)
    wants = "higher" if needed is None else f"at least {show(needed, 'force', 'N')} for this load"
    mend = "Tighten it, or look at its friction, wrap and drum."
    if needed is None:
        mend = "Even a hundred times the tension would not hold it: look at friction and wrap of the drum."
    raise Refusal(
        Fault(
            where=f"frames.{frame.name}.drive.{key}.tension",
            got=f"{show(now, 'force', 'N')}, which leaves the {key} {state}", wants=wants, mend=mend,
        )
    )  # fmt: skip


def _tension_needed(
    frame: Frame, key: str, now: float, again: Callable[[Frame], tuple[Running, ...]]
) -> float | None:  # fmt: skip
    """Find the least tension [N] that holds belt and drum, to 1 %, by halving; None if a hundred times does not."""

    def holds(tension: float) -> bool:
        band = getattr(frame.drive, key).model_copy(update={"tension": tension})
        drive = frame.drive.model_copy(update={key: band})
        return all(run.steady for run in again(frame.model_copy(update={"drive": drive})))

    low, high = now, 100 * now
    if not holds(high):
        return None
    while high > 1.01 * low:
        middle = float(np.sqrt(low * high))
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high
