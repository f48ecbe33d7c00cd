"""The engines that count: DuckDB within the program, or Spark; both read Parquet and run the same Ibis expressions."""

from __future__ import annotations

import contextlib
import re
import tempfile
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from pathlib import Path
from typing import TypeVar

import duckdb
import ibis
import ibis.expr.types as ir
import pyarrow as pa

from ringwright.refusal import Fault, Refusal

__all__ = ["ENGINES", "answer", "keep", "open_engine", "table_in_memory", "table_of_files"]

T = TypeVar("T")
ENGINES = ("duckdb", "spark")


def open_engine(memory: str, threads: int = 2) -> ibis.BaseBackend:
    """Open DuckDB with a limit on its memory; beyond it, it works on disk in the system's folder for such."""
    spill = str(Path(tempfile.gettempdir()) / "ringwright-spill")
    return ibis.duckdb.connect(
        memory_limit=memory, threads=threads, temp_directory=spill, preserve_insertion_order=False
    )


def table_in_memory(table: pa.Table) -> ir.Table:
    """Give a table in memory to the engine."""
    return ibis.memtable(table)


def answer(engine: ibis.BaseBackend, table: ir.Table) -> pa.Table:
    """Work a table out; Refusal that names the fault of a file found while reading, and of a disk without room."""
    return _stoppable(engine, lambda: engine.to_pyarrow(table))


def keep(engine: ibis.BaseBackend, table: ir.Table) -> ir.Table:
    """Work a table out once and keep it with the engine until that is closed, on disk where memory does not suffice."""
    name = ibis.util.gen_name("kept")
    if engine.name == "duckdb":
        # Not .cache(): Ibis 12 drops such a table with a sentence that DuckDB 2 does not read.
        return _stoppable(engine, lambda: engine.create_table(name, table, temp=True))
    # A view first: Ibis 12 forgets to bring tables in memory along to Spark when it caches what is made of them.
    return _stoppable(engine, lambda: engine.create_view(name, table).cache())


def table_of_files(engine: ibis.BaseBackend, paths: Sequence[Path]) -> ir.Table:
    """Give Parquet files to the engine as one table; Refusal that names the fault if they cannot be read.

    The folders' names are not read as columns: engines differ in the types they give them.
    """
    names = [str(path) for path in paths]
    if engine.name == "duckdb":
        with _told(), _old_names():
            return engine.read_parquet(names, hive_partitioning=False)
    from ringwright.study.spark import read_files  # noqa: PLC0415 - only with the extra

    with _told():
        return read_files(engine, names)


def _stoppable(engine: ibis.BaseBackend, work: Callable[[], T]) -> T:
    """Work in a thread, so that Ctrl-C reaches the waiting one at once and can stop the engine's query."""
    if engine.name != "duckdb":  # Spark stops its jobs at Ctrl-C by itself
        with _told(), _old_names():
            return work()
    with _told(), _old_names(), ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(work)
        try:
            while not waiting.done():
                wait([waiting], timeout=0.5)  # without an end some systems would not hear Ctrl-C
        except KeyboardInterrupt:
            engine.con.interrupt()
            raise
        return waiting.result()


@contextlib.contextmanager
def _told() -> Iterator[None]:
    """Turn what an engine says of files and disks into a sentence."""
    try:
        yield
    except (duckdb.IOException, duckdb.InvalidInputException, duckdb.OutOfMemoryException, OSError) as error:
        raise Refusal(_fault(str(error))) from None
    except Exception as error:
        if not (type(error).__module__.startswith("pyspark") and re.search(r"(?i)parquet|path_not_found", str(error))):
            raise
        raise Refusal(_fault(str(error))) from None


def _fault(said: str) -> Fault:
    """Name the fault: the files, or the room to work in."""
    reason = said.strip().splitlines()[0][:240] if said.strip() else "no reason given"
    if "memory" in said.lower() or "no space" in said.lower() or "write error" in said.lower():
        wants, mend = "room to work in", f"Make room in {tempfile.gettempdir()}, or set TMPDIR to a larger disk."
        return Fault(where="the disk for work in progress", got=f"not usable ({reason})", wants=wants, mend=mend)
    mend = "Put the file back from a copy, or take its records in again."
    wants = "whole Parquet files of this store"
    return Fault(where="the records", got=f"not readable ({reason})", wants=wants, mend=mend)


@contextlib.contextmanager
def _old_names() -> Iterator[None]:
    """Keep still that Ibis 12 calls DuckDB 2, and Spark pandas 3, by old names; nothing that a reader could mend."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        warnings.filterwarnings("ignore", "The copy keyword is deprecated")
        yield
