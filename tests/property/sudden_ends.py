"""Kill the take-in at random moments and count what is in the store afterwards."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from dataclasses import astuple, dataclass
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from ringwright.store import open_store

FILES = 12
ROWS = 6000

SOURCE = """
name = "bell"
holds = "breaks"

[columns]
id = "id"
machine = "frame"
spindle = "spindle"
time = "when"

[time]
zone = "UTC"
"""

CHILD = """
import sys
from pathlib import Path
from ringwright.events.source import read_source
from ringwright.mill import demo_mill_path, read_mill
from ringwright.store import open_store, take_file

folder = Path(sys.argv[1])
source, mill = read_source(folder / "s.toml"), read_mill(demo_mill_path())
print("ready", flush=True)
for name in sys.argv[2:]:
    with open_store(folder / "store", new=True) as store:
        take = take_file(folder / name, source, mill, store)
    print(name, take.taken, take.set_aside, flush=True)
"""


@dataclass(frozen=True)
class Count:
    """What was seen: kills that hit a working child, files acknowledged, rows wanted, and rows in the store."""

    kills: int
    acknowledged: int
    wanted: int
    held: int
    different: int
    early_loss: int

    def __str__(self) -> str:
        return (
            f"{self.kills} kills, {self.acknowledged} files acknowledged before a kill; rows wanted {self.wanted}, "
            f"held {self.held}, different {self.different}; acknowledged rows lost {self.early_loss}"
        )


def write_files(folder: Path) -> dict[str, set[str]]:
    """Write files of breaks over three months; gives the ids of each."""
    (folder / "s.toml").write_text(SOURCE, encoding="utf-8")
    ids: dict[str, set[str]] = {}
    for file in range(FILES):
        lines = ["id,frame,spindle,when"]
        for row in range(ROWS):
            number = file * ROWS + row
            second = number * 7 % 86400
            month, day, frame = 1 + number % 3, 1 + number // 3 % 28, 1 + number % 4
            spindle = 1 + number % 1008
            at = f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}.{number:06d}"
            lines.append(f"{number},F{frame},{spindle},2026-{month:02d}-{day:02d} {at}")
        (folder / f"{file}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        ids[f"{file}.csv"] = {str(file * ROWS + row) for row in range(ROWS)}
    return ids


def kill_and_count(folder: Path, kills: int, chance: random.Random) -> Count:
    """Take files again and again, each time with a sudden end, into new stores; count what is there in the end."""
    total = Count(0, 0, 0, 0, 0, 0)
    while total.kills < kills:
        place = folder / f"after-{total.kills}-kills"
        place.mkdir()
        one = _fill(place, kills - total.kills, chance)
        total = Count(*(sum(pair) for pair in zip(astuple(total), astuple(one), strict=True)))
    return total


def _fill(folder: Path, kills: int, chance: random.Random) -> Count:
    """Fill one store under kills until every file is acknowledged, then take all files once more in peace."""
    ids = write_files(folder)
    acknowledged: set[str] = set()
    lost = done = 0
    while done < kills and len(acknowledged) < FILES:
        names = [name for name in ids if name not in acknowledged]
        chance.shuffle(names)
        said, hit = _run(folder, names, chance.uniform(0.0, 0.8))
        acknowledged |= said
        done += hit
        if acknowledged:
            held = _held(folder)
            lost += sum(len(ids[name] - held.keys()) for name in acknowledged)
    _run(folder, list(ids), None)
    held = _held(folder)
    return Count(done, len(acknowledged), FILES * ROWS, sum(held.values()), len(held), lost)


def _run(folder: Path, names: list[str], wait: float | None) -> tuple[set[str], bool]:
    """Take files in a child; kill it after a while. Gives the files that it acknowledged, and whether the kill hit."""
    child = subprocess.Popen(  # noqa: S603 - our own code
        [sys.executable, "-c", CHILD, str(folder), *names], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout
    child.stdout.readline()
    if wait is not None:
        time.sleep(wait)
        child.send_signal(signal.SIGKILL)
    out = child.stdout.read()
    child.stdout.close()
    return {line.split()[0] for line in out.splitlines() if len(line.split()) == 3}, child.wait() != 0


def _held(folder: Path) -> dict[str, int]:
    """How often each id stands in the store, after the mending that every opening for a take-in does."""
    with open_store(folder / "store") as store:
        with store.ledger.change():
            store.settle()
        tables = [pq.read_table(path, columns=["source_id"]) for path in store.paths("breaks", "alder-vale-spinning")]
    if not tables:
        return {}
    counted = pc.value_counts(pa.concat_tables(tables)["source_id"])
    return {one["values"]: one["counts"] for one in counted.to_pylist()}
