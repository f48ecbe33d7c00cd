"""The engines that count: DuckDB within the program, or Spark; both read Parquet and run the same Ibis expressions."""

from __future__ import annotations

import contextlib
import tempfile
import warnings
from collections.abc import Iterator, Sequence
from pathlib import Path

import duckdb
import ibis
import ibis.expr.types as ir
import pyarrow as pa

from ringwright.refusal import Fault, Refusal

__all__ = ["keep", "open_engine", "table_in_memory", "table_of_files"]


def open_engine(memory: str, threads: int = 2) -> ibis.BaseBackend:
    """Open DuckDB with a limit on its memory; beyond it, it works on disk in the system's folder for such."""
    spill = str(Path(tempfile.gettempdir()) / "ringwright-spill")
    return ibis.duckdb.connect(
        memory_limit=memory, threads=threads, temp_directory=spill, preserve_insertion_order=False
    )


def table_in_memory(table: pa.Table) -> ir.Table:
    """Give a table in memory to the engine."""
    return ibis.memtable(table)


def keep(engine: ibis.BaseBackend, table: ir.Table) -> ir.Table:
    """Work a table out once and keep it with the engine until that is closed, on disk where memory does not suffice."""
    if engine.name == "duckdb":
        # Not .cache(): Ibis 12 drops such a table with a sentence that DuckDB 2 does not read.
        with _old_names():
            return engine.create_table(ibis.util.gen_name("kept"), table, temp=True)
    return table.cache()


def table_of_files(engine: ibis.BaseBackend, paths: Sequence[Path]) -> ir.Table:
    """Give Parquet files to the engine as one table; Refusal that names the fault if they cannot be read.

    The folders' names are not read as columns: engines differ in the types they give them.
    """
    try:
        with _old_names():
            return engine.read_parquet([str(path) for path in paths], hive_partitioning=False)
    except (duckdb.Error, OSError) as error:
        reason = str(error).splitlines()[0][:200]
        mend = "Put the file back from a copy, or take its records in again."
        wants = "whole Parquet files of this store"
        raise Refusal(
            Fault(where=str(paths[0].parent), got=f"not readable ({reason})", wants=wants, mend=mend)
        ) from None


@contextlib.contextmanager
def _old_names() -> Iterator[None]:
    """Keep still that Ibis 12 calls DuckDB 2 by old names of functions; nothing that a reader could mend."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        yield
