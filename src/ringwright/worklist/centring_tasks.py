"""What rounds of centring ask of the shift: rails to shift, spindles to correct stop by stop, and the next round."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ringwright.centring.correcting import tolerance_of
from ringwright.centring.drift import Drift
from ringwright.centring.effect import Grade
from ringwright.centring.judging import Correction, Judged, RailShift
from ringwright.centring.words import day_after, due_of, due_words, mm, peak_words, shift_words
from ringwright.findings.finding import Sureness
from ringwright.worklist.follow_up import FollowUp
from ringwright.worklist.listing import in_order
from ringwright.worklist.task import FrameFacts, Task, WorkList, task_key
from ringwright.worklist.wording import WORDING, cautions_for

__all__ = ["FrameRound", "follow_up_of_round", "with_centring"]

KIND: Final = "centring"
RAIL: Final = "centring rail"
_SURE: Final = 3.1 * np.sqrt(2.0)
"""Standard deviations of the gauge, both readings of a difference, that one in a thousand passes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameRound:
    """The last round of a frame as judged, when it was read (µs UTC), its drift, and where its vectors are shown.

    ``now_us`` is the present, None where the rounds are a demonstration's and no day is meant.
    """

    judged: Judged
    read_us: int
    drifts: tuple[Drift, ...]
    command: str
    now_us: int | None = None


def with_centring(work: WorkList, rounds: Sequence[FrameRound], frames: Mapping[str, FrameFacts]) -> WorkList:
    """Add the tasks of the last round of each frame: its rails first, its stops, and the next round where it is due.

    A contradiction that leaves a spindle unread gives a line of what is missing, and no task.
    """
    tasks: list[Task] = []
    missing: list[str] = []
    for one in rounds:
        known = frames[one.judged.frame.name]
        tasks += [_rail(shift, one, known) for shift in one.judged.shifts]
        tasks += [_stop(stop, number, one, known) for number, stop in enumerate(one.judged.stops, 1)]
        if (due := _due(one, known)) is not None:
            tasks.append(due)
        aside = len(one.judged.round.set_aside)
        if aside:
            rows = "a row" if aside == 1 else f"{aside} rows"
            missing.append(
                f"Centring of {known.name}: {rows} of the round of {day_after(one.read_us, 0.0)} could not be used; "
                f"why stands with: {one.command}."
            )
    return replace(work, tasks=in_order((*work.tasks, *tasks), frames), missing=(*work.missing, *missing))


def _rail(shift: RailShift, one: FrameRound, known: FrameFacts) -> Task:
    rail, wording = shift.rail, WORDING[RAIL]
    part = rail.part.split()[0]
    return Task(
        key=task_key(RAIL, known.name, shift=f"{part} side {rail.side}"), kind=RAIL, when=wording.when,
        what=wording.what.format(place=f"{known.name}, side {rail.side}", part=rail.part),
        look_at=f"{wording.look_at} {one.command}",
        evidence=f"{shift_words(shift)}, which spares {shift.spared} single corrections (round of "
        f"{day_after(one.read_us, 0.0)}).",
        sureness=Sureness.SURE, cautions=cautions_for(_works(wording.works, known), known.cautions), frame=known.name,
        side=rail.side,
    )  # fmt: skip


def _stop(stop: Sequence[Correction], number: int, one: FrameRound, known: FrameFacts) -> Task:
    wording, spindles = WORDING[KIND], tuple(each.spindle for each in stop)
    worst = max(stop, key=lambda each: np.nan_to_num(each.swing, nan=max(m.amount for m in each.moves)))
    move, day = worst.moves[0], day_after(one.read_us, 0.0)
    after = " once its rail is shifted" if one.judged.shifts else ""
    listed = ", ".join(str(each) for each in spindles)
    many = "spindle" if len(spindles) == 1 else f"{len(spindles)} spindles"
    minutes = len(spindles) * one.judged.frame.centring.minutes_per_spindle / 60
    return Task(
        key=task_key(KIND, known.name, shift=f"{day} stop {number}"), kind=KIND, when=wording.when, turn=number,
        what=wording.what.format(place=f"{known.name}: {many} {listed}", number=number),
        look_at=f"{wording.look_at} {one.command}",
        evidence=f"The round of {day} finds them beyond their tolerance for certain{after}; the worst is "
        f"{worst.spindle}, where the {move.what} is to be moved by {mm(move.amount)}{_peak(worst)}. "
        f"About {minutes:.0f} min (assumed).",
        sureness=Sureness.SURE if all(_sure(each, one.judged) for each in stop) else Sureness.LIKELY,
        cautions=cautions_for(_works(wording.works, known), known.cautions), frame=known.name, spindles=spindles,
    )  # fmt: skip


def _peak(worst: Correction) -> str:
    """Say how high the tension rises at the worst spindle, where that was worked out."""
    if worst.grade is None:
        return ""
    stops = "" if worst.grade is Grade.LINEAR else "the yarn stops on the traveller for part of each turn, and "
    return f"; {stops}the tension at the guide rises to {peak_words(worst)}"


def _sure(each: Correction, judged: Judged) -> bool:
    """Say whether one of a spindle's moves is beyond its tolerance with a doubt under one in a thousand."""
    slack = _SURE * judged.round.repeatability
    return any(
        move.amount > slack + tolerance_of(judged.frame, "ring" if move.what == "spindle" else move.what)
        for move in each.moves
    )


def _due(one: FrameRound, known: FrameFacts) -> Task | None:
    """Give the task of the next round, once its day has come."""
    first = due_of(one.drifts)
    if one.now_us is None or first is None or one.read_us + first.wait * 1e6 > one.now_us:
        return None
    wording = WORDING["centring round"]
    return Task(
        key=task_key("centring round", known.name), kind="centring round", when=wording.when,
        what=wording.what.format(place=known.name), look_at=wording.look_at,
        evidence=due_words(one.drifts, one.read_us), sureness=Sureness.LIKELY,
        cautions=cautions_for(_works(wording.works, known), known.cautions), frame=known.name,
    )  # fmt: skip


def _works(works: tuple[str, ...], known: FrameFacts) -> tuple[str, ...]:
    """Leave out work that this frame does not have: control rings where none are fitted."""
    return tuple(work for work in works if any(one.work.startswith(work) for one in known.cautions) or "guards" in work)


def follow_up_of_round(spindles: Sequence[int], read: Judged | None, day: str) -> FollowUp:
    """Say whether a ticked stop of centring helped, by the last round read since it was done; None where none was.

    A rail's task (no spindles) asks whether that round still wants a rail shifted.
    """
    if read is None:
        sentence = "Too early to tell: no round of centring was read since."
        return FollowUp(sentence=sentence, sureness=Sureness.TOO_EARLY, cannot_say="")
    if not spindles:
        still = len(read.shifts)
        told = "no rail stands off any more" if not still else "a rail of this frame still stands off"
        return FollowUp(sentence=f"In the round of {day} {told}.", sureness=Sureness.LIKELY, helped=not still,
                        cannot_say="A round says where parts stand, not how many ends break.")  # fmt: skip
    seen = [one for one in spindles if any(np.isfinite(of.along[one - 1]) for of in read.round.offsets.values())]
    if not seen:
        sentence = f"Too early to tell: the round of {day} did not read these spindles."
        return FollowUp(sentence=sentence, sureness=Sureness.TOO_EARLY, cannot_say="")
    off = {one.spindle for one in read.corrections}
    still = sum(one in off for one in seen)
    return FollowUp(
        sentence=f"In the round of {day} {len(seen) - still} of {len(seen)} of these spindles are within tolerance.",
        sureness=Sureness.LIKELY, helped=still < len(seen) / 2,
        cannot_say="A round says where parts stand, not how many ends break.",
    )  # fmt: skip
