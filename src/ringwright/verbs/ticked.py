"""A store's records before and after a tick: counted for its place, and handed to the judges of the work list."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

import numpy as np
import numpy.typing as npt

from ringwright.findings.finding import Sureness
from ringwright.store.ticks import Tick
from ringwright.study.calendar import Pieces, clock_of, cut
from ringwright.study.engine import open_engine
from ringwright.study.neighbours import close_pairs
from ringwright.study.records import FrameShape, read_stretches
from ringwright.study.separators import WINDOW_S
from ringwright.study.sides import breaks_of_frame
from ringwright.study.trial_verdict import ShiftRow, judge_trial
from ringwright.verbs.floor import store_tables
from ringwright.worklist.follow_up import BeforeAfter, FollowUp, follow_up, follow_up_of_trial

if TYPE_CHECKING:
    from ringwright.verbs.asked import Asked

__all__ = ["TickedRecords"]

Mask = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

_MEMORY: Final = "1GB"
_WHOLE_FRAME: Final = ("traveller age", "place in the cop", "hours since doff", "change", "drive group")
_BEFORE, _AFTER = "the frame before the task", "the frame after the task"


class TickedRecords:
    """The records of a mill's store, opened for the tasks that were ticked; ``shapes`` are the frames looked at."""

    def __init__(self, asked: Asked, mill: str, shapes: Mapping[str, FrameShape], shift_length: float) -> None:
        self._engine = open_engine(_MEMORY)
        self._breaks, running = store_tables(asked.records, mill, self._engine)
        self._window = 0 if asked.at_patrol else round(WINDOW_S * 1e6)
        self._shapes = shapes
        stretches = read_stretches(running, self._engine, shapes)
        self._shift_h = shift_length / 3600
        clock = clock_of(stretches, shift_length)
        self._pieces = {one.frame: cut(one, clock) for one in stretches}

    def since(self, tick: Tick, earlier_us: int) -> FollowUp:
        """Say whether a task helped; what ran before ``earlier_us`` (its tick before this one) is left out."""
        if tick.frame not in self._pieces:
            return _nothing("Nothing to compare: the task is about no place of a frame that runs.")
        if tick.kind in {"room", "creel"}:
            return _nothing("Nothing to compare: the setting is judged anew each time the list is made.")
        pieces = self._pieces[tick.frame]
        # A piece (at most one hour) in which the task was done belongs to neither side.
        before = (pieces.from_us >= earlier_us) & (pieces.to_us <= tick.done_us)
        after = pieces.from_us >= tick.done_us
        if not before.any():
            return _early("Too early to tell: no running time is recorded before the task.")
        spindles = tuple(int(one) for one in tick.spindles.split())
        if spindles and tick.target is not None:
            place = self._place(tick, spindles, before, after)
            return follow_up(place, tick.target, "pairs" if tick.kind == "separator" else "breaks")
        if tick.kind in _WHOLE_FRAME:
            return self._whole_frame(pieces, before, after)
        return _nothing("Nothing to compare: the task is about something that has passed.")

    def _place(self, tick: Tick, spindles: tuple[int, ...], before: Mask, after: Mask) -> BeforeAfter:
        """Count the place before and after, with the breaks that the frame's other spindles would make of it."""
        pieces, shape = self._pieces[tick.frame], self._shapes[tick.frame]
        sides = breaks_of_frame(self._breaks, pieces, self._engine, shape)
        number = np.concatenate([side.places + side.first - 1 for side in sides])
        time = np.concatenate([side.times for side in sides])
        counts, expected = [], []
        for part in (before, after):
            within = _held(pieces, part, time)
            mine = np.isin(number, spindles)
            expected.append(float((within & ~mine).sum()) / (shape.spindles - len(spindles)) * len(spindles))
            if tick.kind == "separator":
                side = next(one for one in sides if one.first <= spindles[0] < one.first + one.spindles)
                there = _held(pieces, part, side.times)
                found = close_pairs(side.places[there], side.times[there], side.spindles, self._window, shuffles=1)
                counts.append(int(found.pairs[spindles[0] - side.first]))
            else:
                counts.append(int((within & mine).sum()))
        hours = float((pieces.to_us - pieces.from_us)[after].sum()) / 3.6e9
        return BeforeAfter(
            counts=(counts[0], counts[1]), expected=(expected[0], expected[1]), shifts_after=hours / self._shift_h
        )

    def _whole_frame(self, pieces: Pieces, before: Mask, after: Mask) -> FollowUp:
        """Judge the frame by shift, as a trial whose settings ran one after the other."""
        shape = self._shapes[pieces.cells.frame]
        sides = breaks_of_frame(self._breaks, pieces, self._engine, shape)
        time = np.concatenate([side.times for side in sides])
        piece = np.searchsorted(pieces.from_us, time, side="right") - 1
        shift = pieces.cells.shift[pieces.cell]
        breaks = np.bincount(piece, minlength=len(shift))
        hours = (pieces.to_us - pieces.from_us) / 3.6e9
        shared = np.intersect1d(shift[before], shift[after])
        rows = [
            ShiftRow(shift=str(k), frame=pieces.cells.frame, setting=setting, breaks=int(breaks[mine].sum()),
                     exposure=float(hours[mine].sum()) * shape.spindles / 1000)
            for setting, part in ((_BEFORE, before), (_AFTER, after))
            for k in np.unique(shift[part]).tolist()
            if k not in shared and (mine := part & (shift == k)).any()
        ]  # fmt: skip
        if len({row.setting for row in rows}) < 2:
            return _early("Too early to tell: no whole shift has run on both sides of the task.")
        return follow_up_of_trial(judge_trial(rows, _BEFORE))


def _held(pieces: Pieces, part: Mask, time: Ints) -> Mask:
    """Say of each moment whether it lies in one of these pieces."""
    place = np.searchsorted(pieces.from_us, time, side="right") - 1
    return np.asarray((place >= 0) & (time < pieces.to_us[place]) & part[place], bool)


def _early(sentence: str) -> FollowUp:
    return FollowUp(sentence=sentence, sureness=Sureness.TOO_EARLY, cannot_say="")


def _nothing(sentence: str) -> FollowUp:
    return FollowUp(sentence=sentence, sureness=None, cannot_say="")
