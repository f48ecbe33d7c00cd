"""A week of the mill's creels: the renewal plans of all frames, run on the floor with its hands and carts."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import Final, Literal

import numpy as np

from ringwright.creel.floor import Crew, Draw, FloorLog, FrameRun, run_floor
from ringwright.creel.renewal import RenewalPlan, renewal_plan
from ringwright.creel.supply import supply_of
from ringwright.mill import Mill
from ringwright.mill.creel import Creeling
from ringwright.refusal import Fault, Refusal

__all__ = ["AS_PLANNED", "FrameWeek", "Renewal", "ShiftLoad", "TriedWeek", "Week", "week"]

Renewal = Literal["staggered", "at once"]
MOST_HANDS: Final = 100
FULLY_TAKEN: Final = 0.95
"""Share of the creelers' time above which a shift is said to be full (our choice)."""
VARIES: Final = 0.2
"""Coefficient of variation of a creeler's and a cart's times, and a tenth of it for a doff's (our assumption)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedWeek:
    """What to try in the week: creelers, carts, and how renewals are spread; None leaves it as the mill has it."""

    creelers: int | None = None
    carts: int | None = None
    renewal: Renewal = "staggered"
    seed: int = 1


AS_PLANNED = TriedWeek()
"""Nothing tried: staggered renewals with the mill's own hands and carts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameWeek:
    """The week of one frame: bobbins renewed, those that ran empty first, spindle time stood [s], remnants [kg].

    ``short`` of the empty ones held less than reckoned and were out before they were due. ``longest_wait`` [s] is the
    longest that a renewal waited for a hand, ``doff_wait`` [s] the mean wait of a doff for its crew; ``first_empty``
    [s] is when the first bobbin ran empty, nan if none did.
    """

    plan: RenewalPlan
    yarn: str
    doffs: int
    renewed: int
    empty: int
    short: int
    stood: float
    stripped: float
    longest_wait: float
    doff_wait: float
    first_empty: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftLoad:
    """One shift: hands' work [s] and their time for it [s], bobbins renewed, bobbins run empty, trips of carts."""

    work: float
    available: float
    renewed: int
    empty: int
    trips: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """The week of the mill's creels: each frame, each shift, and where hands or bobbins ran out first.

    ``first_empty`` [s] and ``first_frame`` tell when and where a bobbin first ran empty because its renewal came too
    late (nan and "" where none did); ``for_bobbins`` [s] is how long hands waited for an empty store.
    """

    creeling: Creeling
    tried: TriedWeek
    shift_length: float
    frames: tuple[FrameWeek, ...]
    shifts: tuple[ShiftLoad, ...]
    log: FloorLog
    first_empty: float
    first_frame: str
    for_bobbins: float

    @property
    def full_shifts(self) -> tuple[int, ...]:
        """Numbers of the shifts, from 1, in which the creelers had hardly any time left."""
        return tuple(k + 1 for k, one in enumerate(self.shifts) if one.work > FULLY_TAKEN * one.available > 0)

    @property
    def need(self) -> float:
        """Hands that the planned renewals need on average, rest and other work reckoned in."""
        per_shift = sum(one.plan.work for one in self.frames)
        return per_shift / self.creeling.creeling_share / self.shift_length


def week(mill: Mill, frame: str, yarn: str, tried: TriedWeek = AS_PLANNED) -> Week:
    """Run a week with one frame on a yarn and every other frame on the yarn of its first setting.

    Raises Refusal for an unknown name, a number of hands or carts out of range, and a bobbin that lasts under one doff.
    """
    creeling = _tried(mill.creeling, tried)
    chosen = {one.frame: one.yarn for one in reversed(mill.settings.values())} | {frame: yarn}
    plans = {
        name: renewal_plan(supply_of(mill, name, spun), creeling, mill.shift_length) for name, spun in chosen.items()
    }
    order = [frame, *(name for name in mill.frames if name in chosen and name != frame)]
    runs = tuple(
        _run(plans[name], mill.money.doff_stop, creeling, tried, (k + 1) / len(order)) for k, name in enumerate(order)
    )
    log = run_floor(runs, _crew(creeling), creeling.week_length, tried.seed)
    frames = tuple(_frame_week(plans[name], chosen[name], log) for name in order)
    jobs = [job for job in (*log.jobs, *log.left_empty) if job.empty]
    first = min(jobs, key=lambda job: job.first_empty, default=None)
    return Week(
        creeling=creeling, tried=tried, shift_length=mill.shift_length, frames=frames,
        shifts=_shifts(log, creeling, mill.shift_length), log=log,
        first_empty=np.nan if first is None else first.first_empty, first_frame="" if first is None else first.frame,
        for_bobbins=sum(job.for_bobbins for job in log.jobs),
    )  # fmt: skip


def _tried(creeling: Creeling, tried: TriedWeek) -> Creeling:
    """Give hands and carts as tried."""
    given = {"creelers": tried.creelers, "carts": tried.carts}
    faults = [
        Fault(where=f"the number of {name}", got=str(number), wants=f"from 1 to {MOST_HANDS}")
        for name, number in given.items()
        if number is not None and not 1 <= number <= MOST_HANDS
    ]
    if faults:
        raise Refusal(faults)
    return creeling.model_copy(update={name: number for name, number in given.items() if number is not None})


def _about(mean: float, variation: float) -> Draw:
    """Give a gamma draw of a mean and a coefficient of variation; always the mean without one."""
    if variation == 0 or mean == 0:
        return lambda _: mean
    shape = variation**-2
    return lambda chance: float(chance.gamma(shape, mean / shape))


def _run(plan: RenewalPlan, stop: float, creeling: Creeling, tried: TriedWeek, first: float) -> FrameRun:
    """Make a frame's run; what the efficiency takes beside the doff lies in the spinning time."""
    supply = plan.supply
    strands = supply.bobbins // int(supply.frame.spindles)
    sizes = {group.doff: group.spindles * strands for group in plan.groups}
    if tried.renewal == "staggered":
        by_doff: tuple[tuple[int, ...], ...] = tuple((sizes[k],) if k in sizes else () for k in range(plan.cycle))
    else:
        by_doff = (*(() for _ in range(plan.cycle - 1)), tuple(sizes.values()))
    return FrameRun(
        name=supply.frame.name, spin=_about(max(supply.doff_cycle - stop, 0.5 * supply.doff_cycle), VARIES / 10),
        doff=_about(stop, VARIES), plan=by_doff, per_spin=supply.per_doff, content=supply.roving.bobbin_mass,
        deviation=creeling.content_cv * supply.roving.bobbin_mass, first=first,
    )  # fmt: skip


def _crew(creeling: Creeling) -> Crew:
    """Make people and carts; a creeler's other work stretches the time of each bobbin."""
    return Crew(
        creelers=int(creeling.creelers), doffing_crews=int(creeling.doffing_crews), carts=int(creeling.carts),
        cart_size=int(creeling.cart_size), store=int(creeling.floor_store),
        per_bobbin=_about(creeling.time_per_bobbin / creeling.creeling_share, VARIES),
        trip=_about(creeling.trip_time, VARIES),
    )  # fmt: skip


def _frame_week(plan: RenewalPlan, yarn: str, log: FloorLog) -> FrameWeek:
    name = plan.supply.frame.name
    jobs = [job for job in log.jobs if job.frame == name]
    late = [*jobs, *(job for job in log.left_empty if job.frame == name)]
    waits = [(log.horizon if np.isnan(job.begun) else job.begun) - job.due for job in jobs]
    doffs = [begun - asked for one, asked, begun, _ in log.doffs if one == name]
    first = [job.first_empty for job in late if job.empty]
    return FrameWeek(
        plan=plan, yarn=yarn, doffs=len(doffs), renewed=sum(job.changed for job in jobs),
        empty=sum(job.empty for job in late), short=sum(job.short for job in late),
        stood=sum(job.stood for job in late),
        stripped=sum(job.stripped for job in jobs), longest_wait=max(waits, default=0.0),
        doff_wait=float(np.mean(doffs)) if doffs else 0.0, first_empty=min(first, default=np.nan),
    )  # fmt: skip


def _shifts(log: FloorLog, creeling: Creeling, length: float) -> tuple[ShiftLoad, ...]:
    """Sum what was done in each shift; work that crosses the change of shift is parted."""
    count = ceil(log.horizon / length - 1e-9)
    edges = np.arange(count + 1) * length
    edges[-1] = min(edges[-1], log.horizon)
    work = np.asarray(log.work, dtype=np.float64).reshape(-1, 2)
    done = [float(np.clip(np.minimum(work[:, 1], b) - np.maximum(work[:, 0], a), 0, None).sum())
            for a, b in pairwise(edges)]  # fmt: skip
    empty = [job.first_empty for job in (*log.jobs, *log.left_empty) for _ in range(job.empty)]
    times = {"renewed": work[:, 1], "empty": np.asarray(empty), "trips": np.asarray([b for _, b in log.trips])}
    counts = {key: np.histogram(values, edges)[0] for key, values in times.items()}
    return tuple(
        ShiftLoad(
            work=done[k], available=float(creeling.creelers * (edges[k + 1] - edges[k])),
            renewed=int(counts["renewed"][k]), empty=int(counts["empty"][k]), trips=int(counts["trips"][k]),
        )
        for k in range(count)
    )  # fmt: skip
