"""Lines of a spin plan on a terminal: one figure to a line, with its unit, its origin and the number of its source."""

from __future__ import annotations

from collections.abc import Iterable
from math import floor, log10
from typing import Final, Literal

from ringwright.report.plan_values import figures_of
from ringwright.setting.figure import Figure
from ringwright.setting.planned import Plan
from ringwright.sources import bibliography
from ringwright.units import in_unit, show_number

__all__ = ["Lines", "System", "shown"]

System = Literal["tex", "ne"]

_LABEL, _VALUE, _UNIT = 36, 11, 10
# Decimals that each unit is shown with; speeds of rotation from a thousand on are told to 10 rpm where we computed them
_DECIMALS: Final = {
    "tex": 2, "Ne": 2, "hank": 3, "t/m": 1, "tpi": 2, "TM": 2, "alpha_tex": 0, "alpha_m": 1, "rpm": 0, "m/min": 2,
    "m/s": 1, "g/h": 1, "kg/h": 1, "kg": 1, "g": 1, "mg": 1, "mm": 1, "m": 0, "min": 0, "h": 1, "%": 1,
    "teeth": 0, "spindles": 0, "frames": 0, "fibres": 0, "doffs": 2, "bobbins": 0, "": 2,
}  # fmt: skip
_ENGLISH: Final = {"tex": "Ne", "t/m": "tpi"}


def shown(figure: Figure, unit: str | None = None, decimals: int | None = None) -> tuple[str, str]:
    """Give the number and the unit of a figure as they are shown, in its own unit or another of its quantity."""
    symbol = figure.unit if unit is None else unit
    number = figure.value if figure.quantity == "ratio" else in_unit(figure.value, figure.quantity, symbol)
    if symbol == "rpm" and figure.origin == "computed" and number >= 1000:
        number = round(number, -1)
    most = _DECIMALS[symbol] if decimals is None else decimals
    return show_number(number, min(most, _decimals_of_four_figures(number))), symbol


def _decimals_of_four_figures(number: float) -> int:
    return max(0, 3 - floor(log10(abs(number)))) if number else 3


class Lines:
    """Writes figures as lines in a system of units, and numbers the sources and mill notes that they name."""

    def __init__(self, plan: Plan, system: System) -> None:
        self.system = system
        self._numbers: dict[str, int] = {}
        for figure in figures_of(plan).values():
            for told in _told(figure):
                self._numbers.setdefault(told, len(self._numbers) + 1)

    def line(self, label: str, figure: Figure, unit: str | None = None, decimals: int | None = None) -> str:
        """Write one figure on a line."""
        number, symbol = shown(figure, unit, decimals)
        return f"  {label:<{_LABEL}}{number:>{_VALUE}} {symbol:<{_UNIT}} {self.origin(figure)}"

    def both(self, label: str, figure: Figure, units: tuple[str, str]) -> list[str]:
        """Write a figure in the unit of the system (tex, ne), and below it in the other."""
        first, other = units if self.system == "tex" else units[::-1]
        number, symbol = shown(figure, other)
        return [self.line(label, figure, first), f"  {'':<{_LABEL}}{number:>{_VALUE}} {symbol}"]

    def unit(self, figure: Figure) -> str:
        """Give the unit of a figure in the system: Ne for tex and tpi for t/m where English units are asked for."""
        return _ENGLISH.get(figure.unit, figure.unit) if self.system == "ne" else figure.unit

    def own(self, figure: Figure) -> str:
        """Write number and unit of a figure in the system, without its origin."""
        return " ".join(shown(figure, self.unit(figure))).rstrip()

    def origin(self, figure: Figure) -> str:
        """Write the origin of a figure with the numbers of what stands behind it."""
        marks = ", ".join(str(self._numbers[told]) for told in _told(figure))
        return f"{figure.origin:<16}[{marks}]" if marks else figure.origin

    def sources(self) -> Iterable[str]:
        """List what the numbers in brackets stand for."""
        known = bibliography()
        for told, number in self._numbers.items():
            yield f"[{number}] {known.get(told, told)}"


def _told(figure: Figure) -> tuple[str, ...]:
    return (*figure.sources, *((figure.note,) if figure.note else ()))
