"""A store, opened: its ledger, its files, and the mending of what a sudden end left behind."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from uuid import uuid4

import pyarrow as pa
import pyarrow.parquet as pq

from ringwright.events.event import TABLES
from ringwright.refusal import Fault, Refusal
from ringwright.store.ledger import LEDGER, Held, Ledger, Take, open_ledger
from ringwright.store.place import INCOMING, month_path, put_in_place, store_mill, sync, told
from ringwright.store.rounds import Round

__all__ = ["Store", "check_file", "open_store"]

_ROWS_OF_A_GROUP = 500_000
_REPEATED = ("machine", "zone", "yarn", "cause", "operator", "source", "take", "kind", "shift", "side", "spindle")


@dataclass(frozen=True, slots=True)
class Store:
    """An open store; ``root`` is its folder."""

    root: Path
    ledger: Ledger

    def takes(self) -> list[Take]:
        """List the take-ins, first to last."""
        return self.ledger.takes()

    def keep_round(self, mill: str, given: Round) -> tuple[Round, bool]:
        """Keep a round of readings of a mill (its full name), whole or not at all; and say whether it is new."""
        with self.ledger.change():
            slug = store_mill(mill)
            self.ledger.know_mill(slug, mill)
            return self.ledger.add_round(slug, given)

    def rounds(self, mill: str, kind: str = "", frame: str = "", *, every: bool = False) -> list[Round]:
        """List the standing rounds of a mill (its full name), first to last, of one kind and frame or (empty) of all.

        With ``every`` those that were taken back are listed too.
        """
        return self.ledger.rounds(store_mill(mill), kind, frame, every=every)

    def paths(self, table: str, mill: str) -> list[Path]:
        """List the files of a table (breaks, moments, running) of a mill, month by month."""
        return [self.root / held.path for held in self.ledger.files(f"{table}/mill={mill}/") if held.rows]

    def whole_paths(self, table: str, mill: str, columns: Sequence[str]) -> list[Path]:
        """List the files of a table as ``paths`` does, these columns held against their sums; Refusal if damaged."""
        held = [one for one in self.ledger.files(f"{table}/mill={mill}/") if one.rows]
        for one in held:
            check_file(self.root / one.path, columns, one.rows)
        return [self.root / one.path for one in held]

    def months(self, table: str, mill: str) -> dict[int, Held]:
        """Give the files of a table by month."""
        return {_month(held.path): held for held in self.ledger.files(f"{table}/mill={mill}/")}

    def month(self, table: str, mill: str, month: int) -> pa.Table:
        """Read a month of a table, with no rows if there is none; Refusal if its file is damaged or foreign."""
        path = month_path(table, mill, month)
        held = self.months(table, mill).get(month)
        file = self.root / path
        if held is None:
            if file.exists():
                got = "there, but not in the ledger"
                mend = "Move it out of the store."
                raise Refusal(Fault(where=str(file), got=got, wants="a file that a take-in made", mend=mend))
            return TABLES[table].empty_table()
        return read_table(self.root / (held.draft or path), table, held.rows)

    def write(self, folder: str, name: str, table: pa.Table) -> str:
        """Write a draft of a table, through to the disk; gives its path within the store."""
        draft = f"{folder}/{name}"
        with told(self.root / draft):
            pq.write_table(
                table,
                self.root / draft,
                compression="zstd",
                row_group_size=_ROWS_OF_A_GROUP,
                use_dictionary=[name for name in _REPEATED if name in table.column_names],
                store_schema=False,  # plain texts for every reader
                write_page_checksum=True,
            )
            sync(self.root / draft)
        return draft

    def new_drafts(self) -> str:
        """Make a folder for drafts; gives its path within the store."""
        folder = f"{INCOMING}/{uuid4().hex}"
        with told(self.root / folder):
            (self.root / folder).mkdir(parents=True)
        return folder

    def discard(self, folder: str) -> None:
        """Throw a folder of drafts away."""
        shutil.rmtree(self.root / folder, ignore_errors=True)

    def settle(self) -> None:
        """Put in place every draft that was committed."""
        waiting = [held for held in self.ledger.files() if held.draft]
        if not waiting:
            return
        with told(self.root):
            for held in waiting:
                put_in_place(self.root, str(held.draft), held.path)
        for held in waiting:
            self.ledger.placed(held)

    def sweep(self) -> None:
        """Throw away drafts of take-ins that never were committed; only for the holder of the right to write."""
        wanted = {str(held.draft).rpartition("/")[0] for held in self.ledger.files() if held.draft}
        for folder in (self.root / INCOMING).glob("*"):
            if f"{INCOMING}/{folder.name}" not in wanted:
                shutil.rmtree(folder, ignore_errors=True)


@contextlib.contextmanager
def open_store(folder: Path | str, *, new: bool = False) -> Iterator[Store]:
    """Open a store, made new if ``new`` and it is not there; Refusal if it is not there or cannot be used."""
    root = Path(folder)
    if not (root / LEDGER).exists():
        if not new:
            mend = "Take records in with: ringwright take"
            raise Refusal(Fault(where=str(folder), got="not a store", wants="the folder of a store", mend=mend))
        with told(root):
            root.mkdir(parents=True, exist_ok=True)
            if any(root.iterdir()) and not (root / INCOMING).exists():
                wants = "a store, or a new or empty folder"
                raise Refusal(Fault(where=str(folder), got="a folder with other things in it", wants=wants))
            (root / INCOMING).mkdir(exist_ok=True)
    ledger = open_ledger(root)
    try:
        yield Store(root, ledger)
    finally:
        ledger.close()


def read_table(file: Path, table: str, rows: int) -> pa.Table:
    """Read a file of the store; Refusal that names it if it is gone, damaged, or not what the ledger says."""
    with _whole(file, rows) as held:
        return held.read().cast(TABLES[table])


def check_file(file: Path, columns: Sequence[str], rows: int) -> None:
    """Hold the columns of a file of the store against the sums written with them, row group by row group.

    Engines do not look at these sums: a bit that turned on the disk would change an answer without a word. Refusal
    that names the file if it is gone, damaged, or not what the ledger says.
    """
    with _whole(file, rows) as held:
        for group in range(held.num_row_groups):
            held.read_row_group(group, columns=list(columns))


@contextlib.contextmanager
def _whole(file: Path, rows: int) -> Iterator[pq.ParquetFile]:
    """Open a Parquet file with its sums checked; what is amiss then or while it is read becomes a Refusal."""
    try:
        with pq.ParquetFile(file, page_checksum_verification=True) as held:
            found = held.metadata.num_rows
            if found == rows:
                yield held
    except (pa.ArrowException, OSError, ValueError) as error:
        got = f"damaged or gone ({str(error).splitlines()[0][:100]})"
    else:
        if found == rows:
            return
        got = f"a table of {found} rows, where the ledger says {rows}"
    mend = "Put it back from a copy; else move it away and take the files of that month again into a new store."
    raise Refusal(Fault(where=str(file), got=got, wants="a whole Parquet file of this store", mend=mend))


def _month(path: str) -> int:
    """Read the month out of a file's path."""
    return int(path.split("/")[2].removeprefix("month="))
