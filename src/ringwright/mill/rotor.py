"""The spindle as a rotor: its shaft by section, neck and foot, oil, what it carries and how true it runs.

Every key may be left out: the defaults describe no maker's spindle and stand only until the mill reads its own.
"""

from typing import ClassVar

from ringwright.mill.field import quantity_field
from ringwright.mill.rule import Rule
from ringwright.mill.table import Table

__all__ = ["Rotor"]

_NO_READING = "no mill reading"
_OIL = "ISO VG 10, a light spindle oil, from memory"
_TRADE = "from memory; the practice does not say how it is read, here from side to side"


def _length(meaning: str, allowed: tuple[float, float], default: float, note: str = _NO_READING) -> float:
    value: float = quantity_field("length", "mm", allowed, meaning, default=default, origin="assumed", note=note)
    return value


class Rotor(Table):
    """A spindle with its neck bearing, foot step, oil damper and tube; heights count from the neck bearing's middle."""

    neck_depth: float = _length("height of the tube's foot above the middle of the neck bearing", (5, 150), 35)
    bearing_distance: float = _length("distance from neck bearing to foot step", (30, 300), 100)
    foot_diameter: float = _length("diameter of the shaft at the foot step", (1.5, 20), 4.8)
    neck_diameter: float = _length("diameter of the shaft in the neck bearing", (3, 40), 7.8)
    blade_diameter: float = _length("diameter of the blade at the tube's foot", (3, 40), 9.5)
    tip_diameter: float = _length("diameter of the blade at its tip", (2, 40), 6.5)
    tip_below: float = _length("by how much the blade ends below the tube's tip", (0, 150), 20)
    sleeve_foot_diameter: float = _length(
        "outside diameter of the aluminium sleeve on the blade at the tube's foot; 0 without a sleeve", (0, 50), 14
    )
    sleeve_tip_diameter: float = _length("outside diameter of that sleeve at the blade's tip", (0, 50), 11)
    wharve_mass: float = quantity_field(
        "mass", "g", (1, 1000), "mass of the wharve", default=70, origin="assumed", note=_NO_READING
    )
    wharve_length: float = _length("height of the wharve", (5, 100), 30)
    neck_stiffness: float = quantity_field(
        "stiffness", "N/mm", (10, 1e6), "stiffness of the neck bearing with its bolster, across",
        default=1000, origin="assumed", note=_NO_READING,
    )  # fmt: skip
    neck_damping: float = quantity_field(
        "damping", "N s/m", (0, 10000), "damping of the neck bearing with its bolster",
        default=40, origin="assumed", note=_NO_READING,
    )  # fmt: skip
    foot_stiffness: float = quantity_field(
        "stiffness", "N/mm", (0.1, 1e6), "stiffness of the spring that centres the foot step, across",
        default=40, origin="assumed", note=_NO_READING,
    )  # fmt: skip
    film_radius: float = _length("radius of the oil film that damps the foot step", (1, 30), 4)
    film_length: float = _length("height of that film", (1, 150), 25)
    film_gap: float = _length("radial gap of that film", (0.01, 2), 0.15)
    oil_viscosity: float = quantity_field(
        "kinematic viscosity", "mm2/s", (2, 500), "viscosity of the spindle oil at 40 degrees Celsius",
        default=10, origin="assumed", note=_OIL,
    )  # fmt: skip
    oil_viscosity_hot: float = quantity_field(
        "kinematic viscosity", "mm2/s", (1, 100), "viscosity of the same oil at 100 degrees Celsius",
        default=2.6, origin="assumed", note=_OIL,
    )  # fmt: skip
    oil_density: float = quantity_field(
        "density", "kg/m3", (600, 1200), "density of the oil",
        default=860, origin="assumed", note="mineral oil, from memory",
    )  # fmt: skip
    oil_celsius: float = quantity_field(
        "ratio", "1", (-10, 150), "temperature of the oil at work, in degrees Celsius",
        default=50, origin="assumed", note=_NO_READING,
    )  # fmt: skip
    tube_mass: float = quantity_field(
        "mass", "g", (2, 500), "mass of the bare tube", default=38, origin="assumed", note=_NO_READING
    )
    tube_runout_foot: float = _length("run-out of the tube at its foot, as a dial gauge reads it", (0, 3), 0.04)
    tube_runout_tip: float = _length(
        "run-out of the tube at its tip, as a dial gauge reads it", (0, 3), 0.10,
        "up to 0.1 mm is printed for tubes; no mill reading",
    )  # fmt: skip
    blade_runout: float = _length("run-out of the bare blade at its tip, as a dial gauge reads it", (0, 3), 0.03)
    spindle_unbalance: float = quantity_field(
        "unbalance", "g mm", (0, 200), "unbalance left in the spindle, taken half-way up the tube",
        default=0.5, origin="assumed", note=_NO_READING,
    )  # fmt: skip
    cop_offset: float = _length("distance of the cop's own middle from the tube's axis", (0, 3), 0.03)
    belt_pull: float = quantity_field(
        "force", "N", (0, 300), "sideways pull of tape or belt on the wharve",
        default=15, origin="assumed", note=_NO_READING,
    )  # fmt: skip
    sweep_good: float = quantity_field(
        "length", "mm", (0.005, 2), "sweep of the tube's tip up to which a spindle runs well",
        default=0.10, origin="common practice", note=_TRADE,
    )  # fmt: skip
    sweep_most: float = quantity_field(
        "length", "mm", (0.005, 2), "sweep of the tube's tip from which a spindle is to be looked at",
        default=0.15, origin="common practice", note=_TRADE,
    )  # fmt: skip
    least_margin: float = quantity_field(
        "share", "%", (1, 60), "least distance of a critical speed from the spindle's speed, as a share of that speed",
        default=15, origin="common practice", note="10 % to 20 % in machines at large, from memory",
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = (
        Rule("oil_viscosity_hot", "less than", ("oil_viscosity",), lambda cool: cool,
             "the viscosity at 40 degrees, since oil thins as it warms", ("kinematic viscosity", "mm2/s")),
        Rule("film_gap", "less than", ("film_radius",), lambda radius: radius / 2, "half the film's radius"),
        Rule("sweep_good", "at most", ("sweep_most",), lambda most: most, "the sweep to be looked at"),
    )  # fmt: skip
