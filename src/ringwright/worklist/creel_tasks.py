"""What the creels ask of the shift: brakes outside their band, and the bobbins to renew with the hands there are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import ceil

from ringwright.creel.cautions import creel_cautions
from ringwright.creel.judged import brake_words, hands_words, torque
from ringwright.creel.unwound import Unwound
from ringwright.creel.week import Week
from ringwright.findings.finding import Sureness
from ringwright.worklist.listing import in_order
from ringwright.worklist.task import FrameFacts, Task, WorkList

__all__ = ["with_creels"]

_CREELING = ("reaching into", "steps at", "moving carts", "dust at")
_BRAKES = ("setting a", "reaching into", "steps at")


def with_creels(
    work: WorkList, found: Mapping[str, Sequence[Unwound]], run: Week | None, frames: Mapping[str, FrameFacts]
) -> WorkList:
    """Add the creels' tasks to a list; ``found`` gives the bobbins of each setting of a frame, ``run`` the mill's week.

    A brake that only an estimated cohesion calls too heavy gives a line of what is missing, and no task.
    """
    tasks: list[Task] = [] if run is None else [_renewals(run)]
    missing: list[str] = []
    for frame, bobbins in found.items():
        wrong = [one for one in bobbins if not one.band.holds(one.brake)]
        doubtful = [one for one in wrong if not one.measured and one.brake >= one.band.lowest]
        if len(doubtful) < len(wrong):
            tasks.append(_brake(frame, next(one for one in wrong if one not in doubtful), bobbins))
        elif doubtful:
            missing.append(_unread(frame, doubtful[0]))
    return replace(work, tasks=in_order((*work.tasks, *tasks), frames), missing=(*work.missing, *missing))


def _brake(frame: str, found: Unwound, bobbins: Sequence[Unwound]) -> Task:
    """Make the task of a frame's brakes, with the band that suits all its settings."""
    low = max(one.band.lowest for one in bobbins)
    highest = [one.band.highest for one in bobbins]
    high = None if None in highest else min(one for one in highest if one is not None)
    if high is None or high < low:
        what = f"Look at the creel of {frame}: no one brake suits all its settings"
    else:
        what = f"Set the hangers' brakes of {frame} between {torque(low)} and {torque(high)}"
    known = creel_cautions(found.supply.yarn)
    return Task(
        key=f"{frame}-creel-brake", kind="creel", what=what, when="at the next stop",
        look_at="Read a few with a thread round an empty bobbin and a small spring balance first.",
        evidence=f"With {found.supply.yarn.name}: {brake_words(found)}", sureness=Sureness.LIKELY,
        cautions=tuple(one for one in known if one.work.startswith(_BRAKES)), frame=frame,
    )  # fmt: skip


def _unread(frame: str, found: Unwound) -> str:
    return (
        f"Creel of {frame} with {found.supply.yarn.name}: too early to tell whether the brake of {torque(found.brake)} "
        f"draws the roving; its cohesion is missing, so pull pieces of {found.supply.roving.name} until they slip."
    )


def _renewals(run: Week) -> Task:
    """Make the task of the renewals of all frames."""
    plans = [one.plan for one in run.frames]
    each = ", ".join(
        f"{plan.supply.frame.name} {ceil(plan.supply.bobbins / plan.cycle)} ({plan.to_renew:.0f} a shift)"
        for plan in sorted(plans, key=lambda plan: plan.supply.frame.name)
    )
    known = dict.fromkeys(one for plan in plans for one in creel_cautions(plan.supply.yarn))
    return Task(
        key="creel-renewals", kind="creel", what=f"Renew roving bobbins at each doff: {each}", when="at each doff",
        look_at=f"Which spindles: ringwright creel. About {sum(plan.trips for plan in plans):.0f} cart trips a shift.",
        evidence=hands_words(run), sureness=Sureness.LIKELY,
        cautions=tuple(one for one in known if one.work.startswith(_CREELING)),
    )  # fmt: skip
