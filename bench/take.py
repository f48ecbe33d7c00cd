"""Rate of the take-in with full checks on one processor, beside a pandas version of the same checks in the same run.

    python bench/take.py 1000000   (needs pandas)

Prints rows a second by the clock and by processor time, and the ratio; fails under 200 000 rows a second of processor
time, as the clock depends on what else the machine does.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pyarrow as pa

from ringwright.events.source import read_source
from ringwright.mill import Mill, demo_mill_path, read_mill
from ringwright.store import open_store, take_file

WANTED_ROWS_A_SECOND = 200_000
SOURCE = """
name = "bench"
holds = "breaks"
[columns]
id = "id"
machine = "frame"
spindle = "spindle"
time = "when"
cop = "cop"
yarn = "yarn"
cause = "cause"
operator = "who"
[time]
format = "%Y-%m-%d %H:%M:%S"
zone = "Europe/London"
[cop]
unit = "percent"
"""


def write(path: Path, rows: int) -> None:
    """Write breaks of four weeks on the four demo frames; one row in a hundred has a fault."""
    rng = np.random.default_rng(1)
    when = np.datetime64("2026-03-01T00:00:00") + rng.integers(0, 28 * 86400, rows).astype("timedelta64[s]")
    table = pd.DataFrame(
        {
            "id": np.arange(rows),
            "frame": np.char.add("F", rng.integers(1, 5, rows).astype(str)),
            "spindle": rng.integers(1, 1009, rows),
            "when": np.char.replace(when.astype(str), "T", " "),
            "cop": np.round(rng.random(rows) * 100, 1),
            "yarn": "AV30K",
            "cause": np.where(rng.random(rows) < 0.4, "", "slub"),
            "who": np.char.add("spinner ", rng.integers(1, 20, rows).astype(str)),
        }
    )
    faulty = rng.random(rows) < 0.01
    table.loc[faulty, "spindle"] = 4000
    table.to_csv(path, index=False)


def by_pandas(path: Path, mill: Mill, folder: Path) -> int:
    """Do the same with pandas: read, check, set aside with reasons, drop repeats, write by month; gives rows taken."""
    read = pd.read_csv(path, dtype=str, keep_default_na=False)
    reason = pd.Series("", index=read.index)
    spindles = read["frame"].map({frame.name: frame.spindles for frame in mill.frames.values()})
    reason[spindles.isna()] += "the machine is not known; "
    spindle = pd.to_numeric(read["spindle"], errors="coerce")
    reason[spindle.isna() | (spindle < 1) | (spindle > spindles)] += "the spindle is outside; "
    cop = pd.to_numeric(read["cop"], errors="coerce") / 100
    reason[(cop.isna() & (read["cop"] != "")) | (cop < 0) | (cop > 1)] += "the place in the cop is outside; "
    reason[~read["yarn"].isin([*mill.yarns, ""])] += "the yarn is not known; "
    long = read["cause"].str.contains(r"[\x00-\x1f\x7f-\x9f]") | (read["cause"].str.len() > 200)
    long |= read["who"].str.contains(r"[\x00-\x1f\x7f-\x9f]") | (read["who"].str.len() > 200)
    reason[long] += "a text is too long; "
    local = pd.to_datetime(read["when"], format="%Y-%m-%d %H:%M:%S", errors="coerce")
    reason[local.isna()] += "the time does not read; "
    utc = local.dt.tz_localize("Europe/London", ambiguous="NaT", nonexistent="NaT").dt.tz_convert("UTC")
    reason[utc.isna() & local.notna()] += "the time is not one; "
    reason[utc > pd.Timestamp.now("UTC")] += "the time lies in the future; "
    good = reason == ""
    aside = read[~good]
    aside.insert(0, "reason", reason[~good])
    aside.to_csv(folder / "aside.csv")
    table = read[good].assign(spindle=spindle[good].astype("int32"), cop=cop[good], t=utc[good], local=local[good])
    table = (
        table.drop_duplicates(["frame", "spindle", "t"]).drop_duplicates("id").sort_values(["frame", "t", "spindle"])
    )
    for month, rows in table.groupby(table["t"].dt.strftime("%Y%m")):
        rows.to_parquet(folder / f"{month}.parquet", compression="zstd")
    return len(table)


def timed(work: Callable[[], int]) -> tuple[float, float, int]:
    """Give seconds by the clock, seconds of processor time, and what the work gives."""
    clock, cpu = time.perf_counter(), time.process_time()
    done = work()
    return time.perf_counter() - clock, time.process_time() - cpu, done


def main(rows: int) -> None:
    """Run both and tell."""
    pa.set_cpu_count(1)
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        write(folder / "records.csv", rows)
        (folder / "s.toml").write_text(SOURCE, encoding="utf-8")
        mill, source = read_mill(demo_mill_path()), read_source(folder / "s.toml")

        def ours() -> int:
            with open_store(folder / "store", new=True) as store:
                return take_file(folder / "records.csv", source, mill, store).taken

        own = timed(ours)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        other = timed(lambda: by_pandas(folder / "records.csv", mill, folder))
        again = timed(ours)
    for name, (clock, cpu, taken) in {"ringwright": own, "pandas": other, "ringwright, all known": again}.items():
        print(f"{name}: {taken} taken; {rows / clock:,.0f} rows/s by the clock, {rows / cpu:,.0f} by processor time")
    print(f"pandas takes {other[1] / own[1]:.2f} times the processor time; peak memory of ringwright {peak} MB")
    if rows / own[1] < WANTED_ROWS_A_SECOND:
        sys.exit(f"slower than {WANTED_ROWS_A_SECOND:,} rows a second")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
