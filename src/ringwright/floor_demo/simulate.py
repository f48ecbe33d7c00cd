"""Draw the demonstration's records by chance, as tables of the store."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from ringwright.events.event import BREAKS, RUNNING
from ringwright.floor_demo.scenario import FrameStory, Planted, Story

__all__ = ["DemoRecords", "simulate"]

Ints = npt.NDArray[np.int64]
Array = npt.NDArray[np.float64]

_HOUR: Final = 3_600_000_000
_SHIFT: Final = 8 * _HOUR
_DAY: Final = 24 * _HOUR
_DOFF_STOP: Final = 4 * 60_000_000
_CHANGE_STOP: Final = 45 * 60_000_000


@dataclass(frozen=True, slots=True)
class DemoRecords:
    """The two tables that studies read, with the store's columns; every row invented."""

    breaks: pa.Table
    running: pa.Table


def simulate(story: Story, spindles: int, sides: int, seed: int) -> DemoRecords:
    """Draw the records of every frame; the same seed gives the same records on one version of numpy."""
    rng = np.random.default_rng(seed)
    usual = _factors(rng, story.shift_spread, story.shifts)
    if story.planted:
        usual[story.planted.dry_shift] = story.planted.dry_times
    breaks, running = [], []
    for frame in story.frames:
        stretches = _stretches(story, frame, first_change=rng.uniform(0.5, frame.traveller_days))
        running.append(_running_table(story, frame, stretches))
        own = usual * _factors(rng, story.frame_shift_spread, story.shifts)
        spindle, time, share = _frame_breaks(rng, story, frame, stretches, own, spindles)
        breaks.append(_break_table(story, frame, spindle, time, share, spindles // sides))
    whole = pa.concat_tables(breaks)
    numbered = whole.set_column(0, BREAKS.field("event_id"), pa.array(np.arange(len(whole)), pa.int64()))
    return DemoRecords(numbered, pa.concat_tables(running))


def _factors(rng: np.random.Generator, spread: float, many: int) -> Array:
    """Draw factors of mean 1 with this coefficient of variation."""
    return rng.gamma(spread**-2, spread**2, many) if spread > 0 else np.ones(many)


@dataclass(frozen=True, slots=True)
class _Stretches:
    """Runs of a frame, its doffs and its traveller changes, each from and to (µs UTC)."""

    begin: Ints
    end: Ints
    doff_from: Ints
    doff_to: Ints
    change_from: Ints
    change_to: Ints


def _stretches(story: Story, frame: FrameStory, first_change: float) -> _Stretches:
    """Lay out doffs and traveller changes, and cut the running time between them at the shifts."""
    start, stop = story.start_us, story.start_us + story.days * _DAY
    doff = round(frame.doff_hours * _HOUR)
    doff_from = np.arange(start + doff, stop - _DOFF_STOP, doff + _DOFF_STOP)
    doff_to = doff_from + _DOFF_STOP
    wanted = np.arange(start + round(first_change * _DAY), stop - _DAY, round(frame.traveller_days * _DAY))
    # Travellers are changed at a doff, when the frame stands anyway.
    at = np.minimum(np.searchsorted(doff_to, wanted), len(doff_to) - 1)
    change_from = doff_to[at]
    change_to = change_from + _CHANGE_STOP
    stops = np.sort(np.concatenate([doff_from, change_from]))
    ends = np.sort(np.concatenate([doff_to, change_to]))
    begin, end = np.append(start, ends), np.append(stops, stop)
    cuts = np.arange(start, stop + 1, _SHIFT)
    edges = np.unique(np.concatenate([begin, end, cuts]))
    left, right = edges[:-1], edges[1:]
    inside = np.zeros(len(left), bool)
    for a, b in zip(begin.tolist(), end.tolist(), strict=True):
        inside |= (left >= a) & (right <= b)
    return _Stretches(left[inside], right[inside], doff_from, doff_to, change_from, change_to)


def _frame_breaks(
    rng: np.random.Generator, story: Story, frame: FrameStory, runs: _Stretches, shift_factor: Array, spindles: int
) -> tuple[Ints, Ints, Array]:
    """Draw spindle, time and share of the cop of each break of a frame."""
    planted = story.planted
    rate = frame.rate / 1000 * _factors(rng, story.spindle_spread, spindles)
    if planted:
        for name, number in planted.spindles:
            if name == frame.name:
                rate[number - 1] = frame.rate / 1000 * planted.spindle_times
    shift = (runs.begin - story.start_us) // _SHIFT
    hours = (runs.end - runs.begin) / _HOUR
    age = _age(runs, (runs.begin + runs.end) // 2) / (frame.traveller_days * _DAY)
    worn = np.ones(len(hours))
    if planted and planted.traveller_frame == frame.name:
        worn = planted.traveller_times ** np.clip(np.nan_to_num(age, nan=0.5), 0, 1)
    mean = np.outer(hours * shift_factor[shift] * worn, rate)
    counts = rng.poisson(mean)
    run, place = np.nonzero(counts)
    run, place = np.repeat(run, counts[run, place]), np.repeat(place, counts[run, place])
    time = runs.begin[run] + (rng.random(len(run)) * (runs.end - runs.begin)[run]).astype(np.int64)
    spindle = place.astype(np.int64) + 1
    if planted and planted.separator_frame == frame.name:
        spindle, time = _with_neighbours(rng, planted, runs, spindle, time)
    order = np.lexsort((spindle, time))
    spindle, time = spindle[order], time[order]
    return spindle, time, _share(runs, story, frame, time)


def _age(runs: _Stretches, time: Ints) -> Array:
    """Give the age of the travellers (µs), nan before the first change."""
    place = np.searchsorted(runs.change_to, time, side="right") - 1
    return np.where(place >= 0, time - runs.change_to[np.maximum(place, 0)], np.nan)


def _with_neighbours(
    rng: np.random.Generator, planted: Planted, runs: _Stretches, spindle: Ints, time: Ints
) -> tuple[Ints, Ints]:
    """Add the breaks that go over the missing separator, each a little later, while the frame still runs."""
    first, second = planted.separator_between
    beside = np.flatnonzero(
        ((spindle == first) | (spindle == second)) & (rng.random(len(spindle)) < planted.separator_chance)
    )
    later = time[beside] + (rng.exponential(planted.separator_delay_s, len(beside)) * 1e6).astype(np.int64) + 1
    run = np.searchsorted(runs.begin, time[beside], side="right") - 1
    still = later < runs.end[run]
    other = first + second - spindle[beside]
    return np.concatenate([spindle, other[still]]), np.concatenate([time, later[still]])


def _share(runs: _Stretches, story: Story, frame: FrameStory, time: Ints) -> Array:
    """Give the share of the doff wound, as running time since the doff over the time of a doff."""
    begins = np.append(story.start_us, runs.doff_to)
    place = np.searchsorted(begins, time, side="right") - 1
    since = time - begins[place]
    # A change of travellers follows its doff: the frame stands for it before the doff begins.
    late = np.isin(begins, runs.change_from)[place]
    running = since - np.where(late, _CHANGE_STOP, 0)
    return np.asarray(np.clip(running / (frame.doff_hours * _HOUR), 0.0, 1.0), np.float64)


def _break_table(story: Story, frame: FrameStory, spindle: Ints, time: Ints, share: Array, of_side: int) -> pa.Table:
    many = len(time)
    side = (spindle - 1) // of_side + 1
    text = np.datetime_as_string(time.astype("datetime64[us]"), unit="s")
    columns = {
        "event_id": pa.array(np.arange(many), pa.int64()),
        "machine": pa.array([frame.name] * many, pa.string()),
        "spindle": pa.array(spindle, pa.int32()),
        "side": pa.array(side, pa.int8()),
        "t_us": pa.array(time, pa.int64()),
        "local_text": pa.array(text.tolist(), pa.string()),
        "zone": pa.array([story.zone] * many, pa.string()),
        "local_day": pa.array(time // _DAY, pa.int32()),
        "local_minute": pa.array(time % _DAY // 60_000_000, pa.int16()),
        "cop_share": pa.array(share, pa.float32()),
        "yarn": pa.array([frame.yarn] * many, pa.string()),
        "cause": pa.nulls(many, pa.string()),
        "operator": pa.nulls(many, pa.string()),
        "source": pa.array(["demo, invented"] * many, pa.string()),
        "source_id": pa.nulls(many, pa.string()),
        "take": pa.array(np.zeros(many), pa.int32()),
    }
    return pa.table(columns, schema=BREAKS)


def _running_table(story: Story, frame: FrameStory, runs: _Stretches) -> pa.Table:
    begin = np.concatenate([runs.begin, runs.doff_from, runs.change_from])
    end = np.concatenate([runs.end, runs.doff_to, runs.change_to])
    kind = ["run"] * len(runs.begin) + ["doff"] * len(runs.doff_from) + ["traveller change"] * len(runs.change_from)
    order = np.lexsort((end, begin))
    begin, end, kind = begin[order], end[order], [kind[k] for k in order.tolist()]
    many = len(begin)
    names = [story.shift_names[int(k)] for k in (begin - story.start_us) // _SHIFT % len(story.shift_names)]
    columns = {
        "machine": pa.array([frame.name] * many, pa.string()),
        "from_us": pa.array(begin, pa.int64()),
        "to_us": pa.array(end, pa.int64()),
        "kind": pa.array(kind, pa.string()),
        "closed": pa.array([True] * many, pa.bool_()),
        "speed": pa.nulls(many, pa.float64()),
        "yarn": pa.array([frame.yarn] * many, pa.string()),
        "shift": pa.array(names, pa.string()),
        "zone": pa.array([story.zone] * many, pa.string()),
        "local_day": pa.array(begin // _DAY, pa.int32()),
        "local_minute": pa.array(begin % _DAY // 60_000_000, pa.int16()),
    }
    return pa.table(columns, schema=RUNNING)
