"""How long a week of the mill's creels takes to simulate.

Run: python bench/creel.py. No rival is named: a queueing formula does not answer when in a week hands run out, and
other libraries of discrete events would run the same model.
"""

from __future__ import annotations

from statistics import median
from time import perf_counter

from ringwright.creel.week import AS_PLANNED, TriedWeek, Week, week
from ringwright.mill import Mill, demo_mill_path, read_mill

RUNS = 5
CASES = {
    "four frames, staggered": AS_PLANNED,
    "four frames, at once": TriedWeek(renewal="at once"),
    "four frames, staggered, three hands": TriedWeek(creelers=3),
}


def timed(mill: Mill, tried: TriedWeek) -> tuple[float, Week]:
    """Give the median wall time of a week [s] over some runs, after one that does not count, and the week."""
    run = week(mill, "F1", "AV30K", tried)
    times = []
    for _ in range(RUNS):
        begun = perf_counter()
        run = week(mill, "F1", "AV30K", tried)
        times.append(perf_counter() - begun)
    return median(times), run


def main() -> None:
    """Print the table."""
    mill = read_mill(demo_mill_path())
    print(f"{'week of the demonstration':<40} {'s':>7} {'doffs':>7} {'bobbins':>8}")
    for name, tried in CASES.items():
        time, run = timed(mill, tried)
        bobbins = sum(one.renewed for one in run.frames)
        print(f"{name:<40} {time:7.3f} {len(run.log.doffs):7d} {bobbins:8d}")


if __name__ == "__main__":
    main()
