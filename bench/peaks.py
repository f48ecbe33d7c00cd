"""Hold the peaks of a centring sheet against the motion in time, on the demo: places of the doff, and F3's list.

Run: python bench/peaks.py. Takes some four minutes on one core; needs the compiled stepper. It prints, and writes
nothing; docs/explanation/off-centre.md has what was found.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np

from ringwright.centring.effect import Answering, answering_of, effects_of
from ringwright.centring.in_time import Turned, in_time, offsets_at
from ringwright.centring.judging import judge_round
from ringwright.centring.offsets import offsets_of
from ringwright.centring.readings import PARTS, read_centring
from ringwright.floor_demo.centring import demo_rounds
from ringwright.mill import demo_mill_path, read_mill

MILL = read_mill(demo_mill_path())
FRAMES = (("F3", "AV20W"), ("F1", "AV30K"))
TIMES = (0.5, 1.0, 2.0, 3.0, 5.0)


def places(frame: str, answering: Answering, step: int) -> None:
    """Print the peak in time over the linear one where each part alone stands off, at every ``step``-th place."""
    response, count = answering.response, len(answering.doff.forces.guide_tension)
    mean = answering.doff.forces.guide_tension
    for part in (one.replace(" ", "_") for one in PARTS):
        swing, limit = np.abs(getattr(response, part).guide_tension), response.valid_below(part)
        first = np.nanmin(limit)
        for of_doff in (True, False):
            told = []
            for times in TIMES:
                ratios, left = [], 0
                for place in range(0, count, step):
                    offset = times * (first if of_doff else limit[place])
                    seen = in_time(answering, place, replace(Turned(), **{part: complex(offset)}))
                    left += bool(seen.stopped)
                    if not seen.stopped:
                        ratios.append((seen.peak, mean[place] + offset * swing[place]))
                if ratios:
                    peak, linear = np.array(ratios).T
                    apart, doff = peak / linear, peak.max() / linear.max()
                    told.append(f"{times:g}x: {apart.min():.3f}..{apart.max():.3f}, doff {doff:.3f} ({left} left)")
            against = "the doff's first limit" if of_doff else "each place's limit"
            print(f"{frame}, {part}, times {against}: " + "; ".join(told), flush=True)


def listed(answering: Answering) -> None:
    """Print each spindle of F3's list, at the place of its peak."""
    frame = MILL.frames["F3"]
    last = demo_rounds("F3")[-1]
    judged = judge_round(offsets_of(read_centring(last.text, last.name, frame), 1008, 3e-5), frame, answering)
    effects = effects_of(answering, judged.left, judged.sides)
    for one in judged.corrections:
        place = int(effects.peak_place[one.spindle - 1])
        clock = time.process_time()
        seen = in_time(answering, place, offsets_at(answering, judged.left, judged.sides, one.spindle))
        print(
            f"{one.spindle:5d} {one.grade!s:4s} times {effects.reversal[one.spindle - 1]:5.2f}"
            f" linear {100 * one.peak:5.1f} at least {100 * one.at_least:5.1f} in time {100 * seen.peak:5.1f}"
            f" ratio {seen.peak / one.peak:.3f} stands {seen.stands:.2f}"
            f" {time.process_time() - clock:.2f} s {seen.stopped}",
            flush=True,
        )


def main() -> None:
    """Print both."""
    step = int(sys.argv[1]) if len(sys.argv) > 1 else 1
    for frame, yarn in FRAMES:
        answering = answering_of(MILL, frame, yarn)
        if frame == "F3":
            listed(answering)
        places(frame, answering, step)


if __name__ == "__main__":
    main()
