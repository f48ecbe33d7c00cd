"""What a sheet about one part of the frame holds, in words and pictures that any door can show."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

__all__ = ["Picture", "Row", "Sheet", "Table"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One number as it is shown: its name, its value as text, its unit, and where it came from.

    ``origin`` is "measured", "computed", "assumed" or "common practice", with a note after a comma where one helps;
    ``raw`` is the same value in SI, for JSON, or None where the value is a word.
    """

    name: str
    value: str
    unit: str
    origin: str
    raw: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table: a title, column heads (unit in the head), rows of text, and a note below it.

    ``numbers`` tells which columns stand to the right, as numbers do; ``origin`` says where the numbers came from.
    ``under`` holds a sentence to stand below each row, "" for none; left out where no row has one.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    origin: str
    numbers: tuple[int, ...] = ()
    note: str = ""
    under: tuple[str, ...] = ()

    def told(self) -> Iterator[tuple[tuple[str, ...], str]]:
        """Give each row with the sentence below it."""
        yield from zip(self.rows, self.under or ("",) * len(self.rows), strict=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A figure as SVG text (from ``report.svg.figure``), its title, and in words what it shows.

    ``key`` is the word for it in the name of its file; ``letters`` draw it in characters for a terminal. ``headed``
    says that the figure bears its own heading, so that paper does not say it twice.
    """

    title: str
    svg: str
    words: str
    about: str = ""
    """The title of the table under which it stands; empty for one that stands before all tables."""
    key: str = ""
    letters: tuple[str, ...] = ()
    headed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One part told on one sheet.

    ``title`` names part, frame and yarn; ``answer`` says in one to three sentences what the person should know first;
    ``rows`` are the main numbers; ``warnings`` are what is outside a limit or a model's range, in words; ``notes`` say
    what the model leaves out and what was assumed; ``sources`` name the equations' sources; ``cautions`` are the
    sentences of safety for the work the sheet leads to.
    """

    title: str
    answer: str
    rows: tuple[Row, ...] = ()
    tables: tuple[Table, ...] = ()
    pictures: tuple[Picture, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
