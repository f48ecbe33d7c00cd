"""Time of driving a frame of 1,008 spindles, of its whole sheet, and of judging a round of speeds.

    python bench/drive.py

Prints the median of five runs by the processor's clock, in milliseconds. Other work on the machine slows all of them.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from ringwright.drive.demo_round import demo_round
from ringwright.drive.frame_drive import drive_frame
from ringwright.drive.readings import read_speeds
from ringwright.drive.slow import study_speeds
from ringwright.drive.whole import told_drive
from ringwright.mill import demo_mill_path, read_mill
from ringwright.verbs.driving import spindle_load


def timed(name: str, run: Callable[[], object]) -> None:
    """Print the median time of a call."""
    spent = []
    for _ in range(5):
        start = time.process_time()
        run()
        spent.append(1e3 * (time.process_time() - start))
    print(f"{name:<52} {statistics.median(spent):8.1f} ms")


def main() -> None:
    """Time the drive of F1 (a double belt) and F4 (252 tapes)."""
    mill = read_mill(demo_mill_path())
    for name, yarn in (("F1", "AV30K"), ("F4", "AV40B")):
        frame, load = mill.frames[name], spindle_load(mill, name, yarn)
        driven = drive_frame(frame, load)
        text = demo_round(driven)
        speeds = read_speeds(text, "round", frame, load.speed).by_spindle
        timed(f"{name}, {frame.drive.kind}: drive", lambda f=frame, q=load: drive_frame(f, q))  # type: ignore[misc]
        one = mill.yarns[yarn]
        timed(f"{name}: drive, spread, seven wharves", lambda f=frame, y=one, q=load: told_drive(f, y, q))  # type: ignore[misc]
        timed(f"{name}: read a round of 1,008", lambda t=text, f=frame, q=load: read_speeds(t, "round", f, q.speed))  # type: ignore[misc]
        timed(f"{name}: judge it", lambda d=driven, s=speeds: study_speeds(d, s))  # type: ignore[misc]


if __name__ == "__main__":
    main()
