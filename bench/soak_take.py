"""Soak the take-in: a million hostile rows, or many sudden ends (kill -9) while it works.

    python bench/soak_take.py rows 1000000
    python bench/soak_take.py kills 50
    python bench/soak_take.py http 20
    python bench/soak_take.py mqtt 20

Fails with the reason if a row is lost, doubled, or set aside without a true reason.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.property.hostile import HEADINGS, SOURCE, Plain, reasons_of, rows, untrue
from tests.property.live_ends import by_http, by_mqtt
from tests.property.sudden_ends import kill_and_count

from ringwright.events.source import read_source
from ringwright.mill import demo_mill_path, read_mill
from ringwright.store import open_store, take_file

ROWS_OF_A_FILE = 50_000


def hostile(count: int, folder: Path) -> None:
    """Take files of hostile rows, each held against the plain check."""
    (folder / "s.toml").write_text(SOURCE, encoding="utf-8")
    source, mill = read_source(folder / "s.toml"), read_mill(demo_mill_path())
    taken = known = set_aside = 0
    for seed in range(1000, 1000 + count // ROWS_OF_A_FILE):
        lines = rows(ROWS_OF_A_FILE, seed)
        file = folder / f"{seed}.csv"
        file.write_bytes(b"\n".join([",".join(HEADINGS).encode(), *lines]) + b"\n")
        plain, latest = Plain(), datetime.now(UTC) + timedelta(hours=1)
        for number, raw in enumerate(lines, start=2):
            plain.hear(number, raw, latest)
        with open_store(folder / f"store-{seed}", new=True) as store:
            take = take_file(file, source, mill, store)
            told = reasons_of(store.root / take.set_aside_file)
        ours, theirs = (take.taken, take.known, take.set_aside), (plain.taken, plain.known, plain.set_aside)
        if ours != tuple(map(len, theirs)):
            sys.exit(f"seed {seed}: taken, known, set aside are {ours}; the plain check says {[*map(len, theirs)]}")
        if told.keys() != plain.set_aside.keys() or untrue(told, plain):
            sys.exit(f"seed {seed}: other rows are set aside, or for another reason: {untrue(told, plain)[:3]}")
        taken, known, set_aside = taken + ours[0], known + ours[1], set_aside + ours[2]
    print(f"{count} rows: {taken} taken, {known} known, {set_aside} set aside; each as the plain check says")


if __name__ == "__main__":
    what, number = sys.argv[1], int(sys.argv[2])
    began = time.perf_counter()
    with tempfile.TemporaryDirectory() as place:
        if what == "rows":
            hostile(number, Path(place))
        elif what in {"http", "mqtt"}:
            print((by_http if what == "http" else by_mqtt)(Path(place), number, random.Random(7)))  # noqa: S311
        else:
            print(kill_and_count(Path(place), number, random.Random(7)))  # noqa: S311
    print(f"{time.perf_counter() - began:.0f} s")
