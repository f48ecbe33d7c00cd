"""Numbers that the equations take from outside, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from ringwright.sources import Cited
from ringwright.units.factors import INCH, TWIST_MULTIPLIER_ENGLISH, TWIST_MULTIPLIER_METRIC, TWIST_MULTIPLIER_TEX

__all__ = [
    "CONTRACTION_OFFSET",
    "CONTRACTION_RANGE",
    "CONTRACTION_SLOPE",
    "COTTON_YARN_SPECIFIC_VOLUME",
    "CV_FROM_U",
    "ENDS_DOWN_SHARE",
    "LIMIT_IRREGULARITY",
    "MINIMUM_FIBRES",
    "RING_TO_TUBE",
    "ROVING_CONTENT",
    "TWIST_MULTIPLIER",
    "WINDING_RATIO_USUAL",
]

# One unit of each twist multiplier, as turns/m times root (kg/m)
TWIST_MULTIPLIER: Final[Mapping[str, Cited]] = MappingProxyType(
    {"English": TWIST_MULTIPLIER_ENGLISH, "tex": TWIST_MULTIPLIER_TEX, "metric": TWIST_MULTIPLIER_METRIC}
)

# Twist contraction: C = slope x English twist multiplier - offset
CONTRACTION_SLOPE: Final = Cited(0.0267, "1", source="twist-notes", where="yarn contraction % = 2.67 x TM - 4.93")
CONTRACTION_OFFSET: Final = Cited(0.0493, "1", source="twist-notes", where="yarn contraction % = 2.67 x TM - 4.93")
CONTRACTION_RANGE: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        # The sheet gives no range. A straight line that falls to zero at TM 1.85 cannot hold far below usual twists.
        "lowest": Cited(3.0, "English twist multiplier", source="our-estimate"),
        "highest": Cited(5.0, "English twist multiplier", source="our-estimate"),
    }
)
COTTON_YARN_SPECIFIC_VOLUME: Final = Cited(1.1e-3, "m3/kg", source="Peirce-1937")

# Fibres in the section
MINIMUM_FIBRES: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "combed": Cited(33, "fibres", source="Klein-1987", where="number of fibres in the yarn cross-section, ring"),
        "carded": Cited(75, "fibres", source="Klein-1987", where="number of fibres in the yarn cross-section, ring"),
        "synthetic": Cited(50, "fibres", source="Klein-1987", where="number of fibres in the yarn cross-section, ring"),
        "blend": Cited(50, "fibres", source="our-estimate", where="no figure printed; taken as for synthetic fibres"),
    }
)
LIMIT_IRREGULARITY: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "synthetic": Cited(1.00, "1", source="Das-lecture", where="CV of fibre fineness neglected"),
        "cotton": Cited(1.06, "1", source="Das-lecture", where="106 / root n, in %"),
        "wool": Cited(1.12, "1", source="Das-lecture", where="112 / root n, in %"),
    }
)
CV_FROM_U: Final = Cited(1.25, "1", source="GATE-undated", where="CV of mass irregularity = 1.25 U")

# Roving, ends down
ROVING_CONTENT: Final = Cited(
    3e-3 / INCH**3, "kg/m3", source="SITRA-norms", where="Table 32: content in kg = 3 L D2 / 1000, L and D in inches"
)
ENDS_DOWN_SHARE: Final = Cited(0.75, "1", source="ends-down", where="ends down % = 0.75 e t")

# Forces at the traveller
WINDING_RATIO_USUAL: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "lowest": Cited(1.2, "1", source="Klein-1987", where="winding tension / balloon tension"),
        "highest": Cited(1.8, "1", source="Klein-1987", where="winding tension / balloon tension"),
    }
)
RING_TO_TUBE: Final[Mapping[str, Cited]] = MappingProxyType(
    {
        "lowest": Cited(2.0, "1", source="Klein-1987", where="ring diameter / tube diameter"),
        "highest": Cited(2.2, "1", source="Klein-1987", where="ring diameter / tube diameter"),
    }
)
