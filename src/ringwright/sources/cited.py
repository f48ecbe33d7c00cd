"""A number that carries where it came from."""

from __future__ import annotations

from typing import Self

__all__ = ["Cited"]


class Cited(float):
    """A float with its unit, the key of its source in the bibliography, and the place in that source.

    Arithmetic gives a plain float, so that a result never pretends to be cited.
    """

    unit: str
    source: str
    where: str

    def __new__(cls, value: float, unit: str, *, source: str, where: str = "") -> Self:
        """Make the number; ``source`` is a key of bibliography.toml."""
        number = super().__new__(cls, value)
        number.unit, number.source, number.where = unit, source, where
        return number
