"""Time and memory of all studies on a mill's year, beside the same counts by pandas in the same run.

    python bench/study.py 3000000          (needs pandas)
    python bench/study.py 100000000 alone  (ours only; RINGWRIGHT_BENCH_MEMORY limits the engine, 1GB if it is not set)

Each way runs in a process of its own; the counts of both are compared and must be equal. Prints seconds by the clock
and by processor, and the highest memory of each.
"""

from __future__ import annotations

import os
import pickle
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq

from ringwright.events.event import BREAKS, RUNNING
from ringwright.store.store import check_file
from ringwright.study.drive_groups import tapes_of
from ringwright.study.engine import open_engine, table_of_files
from ringwright.study.records import BREAK_COLUMNS, FrameShape, gather, read_stretches
from ringwright.study.sides import sides_of_records
from ringwright.study.whole import answer_all

SPINDLES, HOUR, DAY = 1000, 3_600_000_000, 86_400_000_000
START = 20_454 * DAY
DAYS = 364
DOFF, SHIFT, WINDOW = 4 * HOUR, 8 * HOUR, 60_000_000
BREAKS_OF_A_FRAME = 250_000
MEMORY = os.environ.get("RINGWRIGHT_BENCH_MEMORY", "1GB")


def names_of(rows: int) -> list[str]:
    """Name as many frames as make so many breaks in a year, near 29 per 1000 spindle-hours."""
    return [f"M{k:03}" for k in range(1, max(1, round(rows / BREAKS_OF_A_FRAME)) + 1)]


def filled(schema: pa.Schema, columns: dict[str, Any], many: int) -> pa.Table:
    """Make a table of the schema, with the other columns null or the same in all rows."""
    made = []
    for field in schema:
        if field.name in columns:
            made.append(pa.array(columns[field.name], field.type))
        elif field.nullable:
            made.append(pa.nulls(many, field.type))
        else:
            value = "UTC" if pa.types.is_string(field.type) else False if pa.types.is_boolean(field.type) else 0
            made.append(pa.repeat(pa.scalar(value, field.type), many))
    return pa.table(made, schema=schema)


def write(folder: Path, rows: int) -> None:
    """Write a year of breaks in 13 files of four weeks, sorted by frame and time, and the running time."""
    rng = np.random.default_rng(1)
    frames = names_of(rows)
    for part in range(13):
        tables = []
        for frame in frames:
            many = rows // len(frames) // 13
            time_us = np.sort(START + part * 28 * DAY + rng.integers(0, 28 * DAY, many))
            spindle = rng.integers(1, SPINDLES + 1, many)
            columns = {
                "event_id": np.arange(many), "machine": [frame] * many, "spindle": spindle,
                "side": np.where(spindle > SPINDLES // 2, 2, 1), "t_us": time_us, "local_day": time_us // DAY,
                "cop_share": (time_us - START) % DOFF / DOFF,
            }  # fmt: skip
            tables.append(filled(BREAKS, columns, many))
        pq.write_table(pa.concat_tables(tables), folder / f"breaks-{part:02}.parquet", compression="zstd",
                       row_group_size=500_000, write_page_checksum=True)  # fmt: skip
    runs = START + np.arange(DAYS * 6) * DOFF  # a run and a doff every 4 h; two of the runs begin each shift
    changes = START + np.arange(0, DAYS, 9) * DAY
    begin = np.concatenate([runs, runs, changes])
    end = np.concatenate([runs + DOFF, runs, changes])
    kind = ["run"] * len(runs) + ["doff"] * len(runs) + ["traveller change"] * len(changes)
    tables = []
    for frame in frames:
        columns = {
            "machine": [frame] * len(begin), "from_us": begin, "to_us": end, "kind": kind, "yarn": ["a"] * len(begin),
            "local_day": begin // DAY, "local_minute": begin % DAY // 60_000_000,
        }  # fmt: skip
        tables.append(filled(RUNNING, columns, len(begin)))
    pq.write_table(pa.concat_tables(tables), folder / "running.parquet")


def ours(folder: Path, rows: int) -> dict[str, Any]:
    """Ask every question; the counts on the way are kept for the comparison."""
    engine = open_engine(MEMORY)
    for file in sorted(folder.glob("breaks-*.parquet")):
        check_file(file, BREAK_COLUMNS, pq.read_metadata(file).num_rows)  # as a study of a store does
    breaks = table_of_files(engine, sorted(folder.glob("breaks-*.parquet")))
    running = table_of_files(engine, [folder / "running.parquet"])
    groups = tapes_of(SPINDLES, 2)
    shapes = {
        name: FrameShape(spindles=SPINDLES, sides=2, groups=groups, group_called="tape") for name in names_of(rows)
    }
    started = time.perf_counter()
    stretches = read_stretches(running, engine, shapes)
    records = gather(breaks, stretches, engine, shapes, SHIFT / 1e6)
    counted = time.perf_counter() - started
    answers = answer_all(records, shapes, sides_of_records(records, engine, shapes))
    pairs = dict.fromkeys(names_of(rows), 0)
    for answer in answers:
        if answer.question == "separators" and answer.estimate:
            pairs[answer.frame] += int(answer.estimate.value)
    return {
        "seconds of counting": counted,
        "answers": len(answers),
        "shifts": {c.frame: np.bincount(c.shift - c.shift.min(), c.breaks).astype(int).tolist() for c in records.cells},
        "doff": {
            c.frame: np.bincount((c.since_doff * 2).astype(int), c.breaks).astype(int).tolist() for c in records.cells
        },
        "spindles": {one.frame: one.counts.tolist() for one in records.spindles},
        "cop": {one.frame: one.counts.tolist() for one in records.cop},
        "pairs": pairs,
    }


def by_pandas(folder: Path, rows: int) -> dict[str, Any]:
    """Count the same by pandas: nearest stretch before each break, group-bys, and neighbours by merges on buckets."""
    columns = ["machine", "spindle", "side", "t_us", "cop_share"]
    breaks = pd.concat([pd.read_parquet(f, columns=columns) for f in sorted(folder.glob("breaks-*.parquet"))])
    running = pd.read_parquet(folder / "running.parquet")
    started = time.perf_counter()
    runs = running[(running.kind == "run") & (running.to_us > running.from_us)].sort_values("from_us")
    breaks = breaks.sort_values("t_us")
    joined = pd.merge_asof(
        breaks, runs[["machine", "from_us", "to_us"]], left_on="t_us", right_on="from_us", by="machine"
    )
    joined = joined[joined.t_us < joined.to_us]
    joined["shift"] = (joined.t_us - START + 2 * HOUR) // SHIFT
    joined["half_hour"] = (joined.t_us - joined.from_us) // (HOUR // 2)
    joined["place"] = np.minimum((joined.cop_share.astype(float) * 20 + 1e-6).astype(int), 19)
    counts = {name: joined.groupby(["machine", key]).size() for name, key in
              (("shifts", "shift"), ("doff", "half_hour"), ("spindles", "spindle"), ("cop", "place"))}  # fmt: skip
    joined["bucket"] = joined.t_us // WINDOW
    left = joined[["machine", "side", "spindle", "t_us", "bucket"]].rename(columns={"t_us": "other"})
    left["spindle"] += 1
    pairs = pd.Series(0, index=names_of(rows))
    for step in (-1, 0, 1):
        moved = left.assign(bucket=left.bucket + step)
        near = joined.merge(moved, on=["machine", "side", "spindle", "bucket"])
        near = near[(near.t_us - near.other).abs() <= WINDOW]
        pairs = pairs.add(near.groupby("machine").size(), fill_value=0)
    seconds = time.perf_counter() - started
    whole = {"spindles": (1, SPINDLES), "cop": (0, 19)}
    told: dict[str, Any] = {"seconds of counting": seconds, "pairs": pairs.astype(int).to_dict()}
    for name, series in counts.items():
        table = series.unstack(fill_value=0)  # noqa: PD010 - it is counted already
        if name in whole:
            table = table.reindex(columns=range(whole[name][0], whole[name][1] + 1), fill_value=0)
        told[name] = {frame: table.loc[frame].astype(int).tolist() for frame in table.index}
    return told


def measured(way: str, folder: Path, rows: int) -> dict[str, Any]:
    """Run one way in a process of its own."""
    out = folder / f"{way}.pickle"
    subprocess.run([sys.executable, __file__, str(rows), way, str(folder)], check=True)  # noqa: S603 - this script
    result: dict[str, Any] = pickle.loads(out.read_bytes())  # noqa: S301 - written by ourselves just now
    print(f"{way:>9}: {result['seconds']:6.1f} s by the clock ({result['seconds of counting']:.1f} s of it counting), "
          f"{result['processor']:6.1f} s of processor, {result['memory']:5.2f} GB")  # fmt: skip
    return result


def child(way: str, folder: Path, rows: int) -> None:
    """Run one way here and leave its result beside the data."""
    started = time.perf_counter()
    result = {"ours": ours, "pandas": by_pandas}[way](folder, rows)
    used = resource.getrusage(resource.RUSAGE_SELF)
    result |= {"seconds": time.perf_counter() - started, "processor": used.ru_utime + used.ru_stime,
               "memory": used.ru_maxrss / 2**20}  # fmt: skip
    (folder / f"{way}.pickle").write_bytes(pickle.dumps(result))


def main() -> None:
    """Write the year, run both ways, compare."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    alone = sys.argv[2:] == ["alone"]
    if len(sys.argv) > 3:
        child(sys.argv[2], Path(sys.argv[3]), rows)
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write(folder, rows)
        size = sum(f.stat().st_size for f in folder.glob("*.parquet")) / 1e6
        print(f"{rows:,} breaks of {len(names_of(rows))} frames in a year, {size:.0f} MB")
        mine = measured("ours", folder, rows)
        if alone:
            print(f"{mine['answers']} answers, {sum(map(sum, mine['spindles'].values())):,} breaks counted.")
            return
        theirs = measured("pandas", folder, rows)
        print(f"Ours asks every question ({mine['answers']} answers); pandas only counts.")
        unequal = [key for key in ("shifts", "doff", "spindles", "cop", "pairs") if mine[key] != theirs[key]]
        print("All counts are equal." if not unequal else f"Not equal: {', '.join(unequal)}.")
        if unequal:
            sys.exit(1)


if __name__ == "__main__":
    main()
