"""Conversion factors: the SI value of one of each trade unit, each with its source."""

from __future__ import annotations

from math import pi, sqrt

from ringwright.sources.cited import Cited

__all__ = [
    "ENGLISH_COUNT",
    "GRAM_FORCE",
    "INCH",
    "METRIC_COUNT",
    "POUND",
    "TEX",
    "TURN",
    "TWIST_MULTIPLIER_ENGLISH",
    "TWIST_MULTIPLIER_METRIC",
    "TWIST_MULTIPLIER_TEX",
]

_AGREEMENT = "yard-pound-1959"
_HANK = "from memory: the cotton hank is 840 yd"

INCH = Cited(0.0254, "m", source=_AGREEMENT, where="from memory: 1 yd = 0.9144 m, 36 in to the yard")
YARD = Cited(0.9144, "m", source=_AGREEMENT, where="from memory: 1 yd = 0.9144 m")
POUND = Cited(0.453_592_37, "kg", source=_AGREEMENT, where="from memory: 1 lb = 0.45359237 kg")
GRAIN = Cited(POUND / 7000, "kg", source=_AGREEMENT, where="from memory: 7000 grains to the pound")
GRAM_FORCE = Cited(9.806_65e-3, "N", source="SI-brochure", where="from memory: standard gravity, CGPM 3 (1901)")
TURN = Cited(2 * pi, "rad", source="SI-brochure", where="from memory: plane angle")

TEX = Cited(1e-6, "kg/m", source="ISO-1144", where="from memory: tex is grams to the kilometre")
DENIER = Cited(1e-3 / 9000, "kg/m", source="ISO-1144", where="from memory: denier is grams to 9000 m")
ENGLISH_COUNT = Cited(POUND / (840 * YARD), "kg/m", source="ISO-1144", where=f"{_HANK}; hanks to the pound")
METRIC_COUNT = Cited(1e-3, "kg/m", source="ISO-1144", where="from memory: metric count is kilometres to the kilogram")

TWIST_MULTIPLIER_ENGLISH = Cited(
    sqrt(ENGLISH_COUNT) / INCH, "turns/m sqrt(kg/m)", source="ISO-1144", where=f"{_HANK}; turns to the inch / sqrt(Ne)"
)
TWIST_MULTIPLIER_TEX = Cited(
    sqrt(TEX), "turns/m sqrt(kg/m)", source="ISO-1144", where="from memory: turns to the metre x sqrt(tex)"
)
TWIST_MULTIPLIER_METRIC = Cited(
    sqrt(METRIC_COUNT), "turns/m sqrt(kg/m)", source="ISO-1144", where="from memory: turns to the metre / sqrt(Nm)"
)
