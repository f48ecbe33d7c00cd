"""Tables and code words in Markdown, for the pages that are made from the code."""

from __future__ import annotations

from collections.abc import Iterable

from ringwright.units import NARROW_SPACE

__all__ = ["code", "table"]


def table(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> list[str]:
    """Write a table as lines, with an empty one after it."""
    told = [[cell.replace(NARROW_SPACE, " ").replace("|", "\\|") for cell in row] for row in (heads, *rows)]
    lines = ["| " + " | ".join(row) + " |" for row in told]
    return [lines[0], "|" + "---|" * len(told[0]), *lines[1:], ""]


def code(words: str) -> str:
    """Mark words as they are typed; no words give none."""
    return f"`{words}`" if words else ""
