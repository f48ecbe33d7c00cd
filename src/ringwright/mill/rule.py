"""A rule between fields of one table, stated once: checked on reading, told in the reference."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from ringwright.refusal import Fault
from ringwright.units import show

__all__ = ["Rule", "breaches"]

Lookup = Callable[[str], float | None]
_ROUNDING = 1e-7


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule: the key held, how, the bound made from other keys, and the bound in words.

    ``shown`` is the quantity and unit in which the values are told.
    """

    key: str
    sense: Literal["at most", "at least", "less than", "more than"]
    needs: tuple[str, ...]
    bound: Callable[..., float]
    because: str
    shown: tuple[str, str] = ("length", "mm")

    def in_words(self) -> str:
        """Say the rule as a sentence for the reference page."""
        return f"{self.key} must be {self.sense} {self.because}."

    def breach(self, value_of: Lookup) -> Fault | None:
        """Give the fault if the rule is broken; None if it holds or a value it needs is not there."""
        value = value_of(self.key)
        needed = [value_of(key) for key in self.needs]
        if value is None or any(number is None for number in needed):
            return None
        bound = self.bound(*needed)
        if self._holds(value, bound):
            return None
        wants = f"{self.sense} {show(bound, *self.shown)} ({self.because})"
        mend = f"Look at {', '.join((self.key, *self.needs))}."
        return Fault(where=self.key, got=show(value, *self.shown), wants=wants, mend=mend)

    def _holds(self, value: float, bound: float) -> bool:
        """Compare with room for rounding only."""
        slack = _ROUNDING * max(abs(value), abs(bound))
        return {
            "at most": value <= bound + slack,
            "at least": value >= bound - slack,
            "less than": value < bound - slack,
            "more than": value > bound + slack,
        }[self.sense]


def breaches(rules: tuple[Rule, ...], value_of: Lookup) -> list[Fault]:
    """Give the faults of all rules that are broken."""
    return [fault for fault in (rule.breach(value_of) for rule in rules) if fault is not None]
