"""Steel and aluminium as a spindle's blade and sleeve need them."""

from __future__ import annotations

from typing import Final

from ringwright.sources import Cited

__all__ = [
    "ALUMINIUM_DENSITY", "ALUMINIUM_RIGIDITY", "ALUMINIUM_YOUNG", "SHEAR_FACTOR", "STEEL_DENSITY", "STEEL_RIGIDITY",
    "STEEL_YOUNG",
]  # fmt: skip

STEEL_YOUNG: Final = Cited(206e9, "Pa", source="metals", where="steel, Young's modulus")
STEEL_RIGIDITY: Final = Cited(79e9, "Pa", source="metals", where="steel, shear modulus")
STEEL_DENSITY: Final = Cited(7850, "kg/m3", source="metals", where="steel")
ALUMINIUM_YOUNG: Final = Cited(70e9, "Pa", source="metals", where="aluminium alloy, Young's modulus")
ALUMINIUM_RIGIDITY: Final = Cited(26e9, "Pa", source="metals", where="aluminium alloy, shear modulus")
ALUMINIUM_DENSITY: Final = Cited(2700, "kg/m3", source="metals", where="aluminium alloy")
SHEAR_FACTOR: Final = Cited(
    0.886, "1", source="Cowper-1966", where="solid round section, Poisson's ratio 0.3: 6 (1 + n) / (7 + 6 n)"
)
