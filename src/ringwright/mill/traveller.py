"""Travellers, numbered by their mass in the R20 series of preferred numbers."""

from pydantic import field_validator

from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.table import Entry
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["R20", "TRAVELLER_MASSES", "Traveller"]

R20 = (1.0, 1.12, 1.25, 1.4, 1.6, 1.8, 2.0, 2.24, 2.5, 2.8, 3.15, 3.55, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0)
"""One decade of the R20 series; source: ISO 3, preferred numbers (from memory), rounded values of 10^(i/20)."""

TRAVELLER_MASSES = tuple(
    round(step * decade * 1e-6, 12) for decade in (1, 10, 100) for step in R20 if 5 <= step * decade <= 630
)
"""The masses of the traveller series from 5 mg to 630 mg, in kg; the ISO number is the mass in mg (ISO 96-2)."""

_SAME = 0.002


class Traveller(Entry):
    """A traveller: mass, profile and finish."""

    mass: float = quantity_field(
        "mass", "mg", (5, 630), "mass of one traveller, which in mg is its ISO number, in the R20 series"
    )
    profile: str = plain_field("shape of the bow and section of the wire, as the mill calls it")
    finish: str = plain_field(
        "surface of the traveller, as the mill calls it",
        default="not stated", origin="assumed", note="nothing is computed from it",
    )  # fmt: skip

    @field_validator("mass")
    @classmethod
    def _in_series(cls, mass: float) -> float:
        """Give the exact mass of the series; refuse a mass between two of them."""
        for step in TRAVELLER_MASSES:
            if abs(mass - step) <= _SAME * step:
                return step
        below = max(step for step in TRAVELLER_MASSES if step < mass)
        above = min(step for step in TRAVELLER_MASSES if step > mass)
        pair = f"{show(below, 'mass', 'mg')} and {show(above, 'mass', 'mg')}"
        got = f"{show(mass, 'mass', 'mg')}, which is not in the R20 series"
        wants = "the mass of one traveller in that series, from 5 mg to 630 mg"
        raise Refusal(Fault(where="", got=got, wants=wants, mend=f"The two nearest are {pair}."))

    @property
    def iso_number(self) -> float:
        """The ISO number: the mass in mg."""
        return round(self.mass * 1e6, 6)
