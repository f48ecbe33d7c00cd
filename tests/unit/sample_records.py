"""A small store to take records into, and short ways to say what a file holds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from ringwright.events.source import read_source
from ringwright.mill import demo_mill_path, read_mill
from ringwright.store import Take, open_store, take_file

BREAKS = """
name = "loomside"
holds = "breaks"
{more}
[columns]
machine = "frame"
spindle = "spindle"
time = "when"
{columns}
[time]
zone = "Europe/Berlin"
{time}
{tables}
"""

RUNNING = """
name = "drive log"
holds = "running"
{more}
[columns]
machine = "frame"
kind = "what"
time = "when"
{columns}
[time]
zone = "UTC"
{time}
{tables}
"""

MILL = "alder-vale-spinning"


@dataclass
class Floor:
    """A folder with a source and a store."""

    folder: Path
    source: str = BREAKS

    def state(self, **parts: str) -> None:
        """Write the source's file."""
        filled = {"more": "", "columns": "", "time": "", "tables": ""} | parts
        (self.folder / "s.toml").write_text(self.source.format(**filled), encoding="utf-8")

    def take(self, text: str | bytes | Path, name: str = "records.csv") -> Take:
        """Take a file in."""
        file = text if isinstance(text, Path) else self.folder / name
        if not isinstance(text, Path):
            file.write_bytes(text.encode() if isinstance(text, str) else text)
        with open_store(self.folder / "store", new=True) as store:
            return take_file(file, read_source(self.folder / "s.toml"), read_mill(demo_mill_path()), store)

    def rows(self, table: str = "breaks") -> list[dict[str, Any]]:
        """Give the rows of a table."""
        with open_store(self.folder / "store") as store:
            paths = store.paths(table, MILL)
        tables = [pq.ParquetFile(path).read() for path in paths]
        return pa.concat_tables(tables).to_pylist() if tables else []

    def reasons(self, take: Take) -> dict[int, str]:
        """Give the reasons of the rows set aside by line."""
        lines = (self.folder / "store" / take.set_aside_file).read_text(encoding="utf-8").splitlines()[1:]
        return {int(line.split(",")[0]): line.split('"')[1] for line in lines}
