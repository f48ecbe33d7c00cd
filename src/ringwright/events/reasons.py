"""Why rows are set aside: every reason of a row is told, in words that show what stood there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from ringwright.events.block import SetAside

__all__ = ["Reasons", "shown"]

Mask = npt.NDArray[np.bool_]


@dataclass(slots=True)
class Reasons:
    """The rows of a block that are not taken, and why; rows are counted from 0 within the block."""

    lines: npt.NDArray[np.int64]
    told: dict[int, list[str]] = field(default_factory=dict)

    def add(self, rows: Mask, say: Callable[[int], str]) -> None:
        """Give each of the rows a reason."""
        for row in np.flatnonzero(rows).tolist():
            self.told.setdefault(row, []).append(say(row))

    @property
    def good(self) -> Mask:
        """Tell which rows have no reason against them."""
        good = np.ones(len(self.lines), bool)
        good[list(self.told)] = False
        return good

    def set_aside(self) -> list[SetAside]:
        """List the rows set aside with their reasons."""
        return [SetAside(int(self.lines[row]), "; ".join(reasons)) for row, reasons in self.told.items()]


def shown(texts: pa.StringArray, row: int) -> str:
    """Show a cell in a sentence: quoted, not over forty signs, without signs that a terminal would obey."""
    text = str(texts[row].as_py())
    plain = "".join(sign if sign.isprintable() and sign != '"' else "?" for sign in text[:40])
    return f"'{plain}{'...' if len(text) > 40 else ''}'"
