"""The one table of quantities and the units people write them in."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.sources.cited import Cited
from ringwright.units.factors import (
    DENIER,
    ENGLISH_COUNT,
    GRAIN,
    GRAM_FORCE,
    INCH,
    METRIC_COUNT,
    POUND,
    TEX,
    TURN,
    TWIST_MULTIPLIER_ENGLISH,
    TWIST_MULTIPLIER_METRIC,
    TWIST_MULTIPLIER_TEX,
    YARD,
)

__all__ = ["QUANTITIES", "Quantity", "Unit"]


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its symbol, the SI value of one, and how else people write it.

    With ``reciprocal`` the number is a length to a mass: SI value = factor / number, as for Ne.
    With ``exact_case`` capitals matter, because another prefix differs only by them (mN, MN).
    """

    symbol: str
    factor: Cited
    spellings: tuple[str, ...] = ()
    reciprocal: bool = False
    exact_case: bool = False


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity: its name, how a sentence calls it, its SI unit, and its units, the one shown first.

    With ``plain`` a bare number is its SI value, as for a share or a ratio.
    """

    name: str
    called: str
    si: str
    units: tuple[Unit, ...]
    plain: bool = False

    @property
    def symbols(self) -> tuple[str, ...]:
        """The symbols of its units, the one shown first."""
        return tuple(unit.symbol for unit in self.units)


def _si(value: float, unit: str) -> Cited:
    """Give the SI value of a prefixed or accepted unit; source: the SI brochure."""
    return Cited(value, unit, source="SI-brochure", where="from memory: prefixes and units accepted with the SI")


_COUNT = (
    Unit("tex", TEX),
    Unit("Ne", ENGLISH_COUNT, ("nec", "ne.", "english count"), reciprocal=True),
    Unit("Nm", METRIC_COUNT, ("nm.", "metric count"), reciprocal=True),
    Unit("dtex", Cited(TEX / 10, "kg/m", source="ISO-1144", where=TEX.where), ("decitex",)),
    Unit("mtex", Cited(TEX / 1000, "kg/m", source="ISO-1144", where=TEX.where), ("millitex",)),
    Unit("ktex", Cited(TEX * 1000, "kg/m", source="ISO-1144", where=TEX.where), ("kilotex",)),
    Unit("den", DENIER, ("denier", "td")),
    Unit("hank", ENGLISH_COUNT, ("hanks", "hank roving", "ne roving"), reciprocal=True),
    Unit("µg/in", Cited(1e-9 / INCH, "kg/m", source="yard-pound-1959", where=INCH.where), ("ug/in", "ug/inch")),
    Unit("kg/m", _si(1.0, "kg/m")),
)
_TWIST = (
    Unit("t/m", _si(1.0, "1/m"), ("tpm", "turns/m", "turns/metre", "turns per metre")),
    Unit("tpi", Cited(1 / INCH, "1/m", source="yard-pound-1959", where=INCH.where), ("t/in", "turns/in", "turns/inch")),
    Unit("t/cm", _si(100.0, "1/m"), ("tpcm", "turns/cm")),
)
_MULTIPLIER = (
    Unit("TM", TWIST_MULTIPLIER_ENGLISH, ("alpha_e", "\u03b1e")),
    Unit("alpha_tex", TWIST_MULTIPLIER_TEX, ("alphatex", "\u03b1tex", "\u03b1_tex")),
    Unit("alpha_m", TWIST_MULTIPLIER_METRIC, ("alpham", "\u03b1m", "\u03b1_m")),
)
_ROTATION = (
    Unit("rpm", _si(TURN / 60, "rad/s"), ("r/min", "rev/min", "1/min", "min-1")),
    Unit("Hz", _si(TURN, "rad/s"), ("r/s", "rev/s", "1/s")),
    Unit("rad/s", _si(1.0, "rad/s")),
)
_LENGTH = (
    Unit("mm", _si(1e-3, "m"), ("millimetre", "millimetres", "millimeter", "millimeters")),
    Unit("cm", _si(1e-2, "m"), ("centimetre", "centimetres")),
    Unit("m", _si(1.0, "m"), ("metre", "metres", "meter", "meters")),
    Unit("km", _si(1e3, "m")),
    Unit("in", INCH, ("inch", "inches", '"', "″")),
    Unit("yd", YARD, ("yard", "yards")),
)
_MASS = (
    Unit("g", _si(1e-3, "kg"), ("gram", "grams")),
    Unit("mg", _si(1e-6, "kg"), ("milligram", "milligrams")),
    Unit("kg", _si(1.0, "kg"), ("kilogram", "kilograms")),
    Unit("grain", GRAIN, ("grains", "gr")),
    Unit("lb", POUND, ("lbs", "pound", "pounds")),
)
_FORCE = (
    Unit("cN", _si(1e-2, "N")),
    Unit("N", _si(1.0, "N"), ("newton", "newtons")),
    Unit("mN", _si(1e-3, "N"), exact_case=True),
    Unit("gf", GRAM_FORCE, ("gram-force",)),
)
_TENACITY = (
    Unit("cN/tex", Cited(0.01 / TEX, "N m/kg", source="ISO-1144", where=TEX.where)),
    Unit("gf/tex", Cited(GRAM_FORCE / TEX, "N m/kg", source="SI-brochure", where=GRAM_FORCE.where), ("g/tex", "rkm")),
    Unit(
        "gf/den", Cited(GRAM_FORCE / DENIER, "N m/kg", source="SI-brochure", where=GRAM_FORCE.where), ("g/den", "gpd")
    ),
)
_SPEED = (Unit("m/s", _si(1.0, "m/s")), Unit("m/min", _si(1 / 60, "m/s"), ("mpm",)))
_TIME = (
    Unit("min", _si(60.0, "s"), ("minute", "minutes")),
    Unit("h", _si(3600.0, "s"), ("hour", "hours", "hr", "hrs")),
    Unit("s", _si(1.0, "s"), ("sec", "second", "seconds")),
)
_DENSITY = (Unit("g/cm3", _si(1000.0, "kg/m3"), ("g/cc",)), Unit("kg/m3", _si(1.0, "kg/m3")))
_SHARE = (Unit("%", _si(0.01, "1"), ("percent", "per cent", "pc")), Unit("1", _si(1.0, "1")))
_POWER = (
    Unit("W", _si(1.0, "W"), ("watt", "watts")),
    Unit("mW", _si(1e-3, "W"), exact_case=True),
    Unit("kW", _si(1e3, "W")),
)
_PRESSURE = (Unit("kPa", _si(1e3, "Pa")), Unit("Pa", _si(1.0, "Pa")))
_ANGLE = (
    Unit("°", _si(TURN / 360, "rad"), ("deg", "degree", "degrees")),
    Unit("rad", _si(1.0, "rad"), ("radian", "radians")),
)
_STIFFNESS = (
    Unit("N/mm", _si(1e3, "N/m")),
    Unit("N/m", _si(1.0, "N/m"), exact_case=True),
    Unit("kN/mm", _si(1e6, "N/m")),
)
_DAMPING = (Unit("N s/m", _si(1.0, "N s/m"), ("n·s/m",)),)
_VISCOSITY = (Unit("mm2/s", _si(1e-6, "m2/s"), ("mm²/s", "cst", "centistokes")), Unit("m2/s", _si(1.0, "m2/s")))
_UNBALANCE = (Unit("g mm", _si(1e-6, "kg m"), ("g·mm",)), Unit("kg m", _si(1.0, "kg m")))
_TORQUE = (
    Unit("mN m", _si(1e-3, "N m"), ("mn·m", "n·mm", "n mm")),
    Unit("N m", _si(1.0, "N m"), ("n·m",)),
    Unit("cN cm", _si(1e-4, "N m"), ("cn·cm",)),
)
_OUTPUT = (Unit("g/h", _si(1e-3 / 3600, "kg/s")), Unit("kg/h", _si(1 / 3600, "kg/s")), Unit("kg/s", _si(1.0, "kg/s")))
_SPECIFIC_ENERGY = (Unit("Wh/kg", _si(3600.0, "J/kg")), Unit("kWh/kg", _si(3.6e6, "J/kg")))

QUANTITIES: dict[str, Quantity] = {
    quantity.name: quantity
    for quantity in (
        Quantity("count", "a count", "kg/m", _COUNT),
        Quantity("twist", "a twist", "1/m", _TWIST),
        Quantity("twist multiplier", "a twist multiplier", "turns/m sqrt(kg/m)", _MULTIPLIER),
        Quantity("rotation", "a speed of rotation", "rad/s", _ROTATION),
        Quantity("length", "a length", "m", _LENGTH),
        Quantity("mass", "a mass", "kg", _MASS),
        Quantity("force", "a force", "N", _FORCE),
        Quantity("tenacity", "a tenacity", "N m/kg", _TENACITY),
        Quantity("speed", "a speed", "m/s", _SPEED),
        Quantity("time", "a time", "s", _TIME),
        Quantity("density", "a density", "kg/m3", _DENSITY),
        Quantity("share", "a share", "1", _SHARE, plain=True),
        Quantity("ratio", "a plain number", "1", (Unit("1", _si(1.0, "1")),), plain=True),
        Quantity("power", "a power", "W", _POWER),
        Quantity("pressure", "a pressure", "Pa", _PRESSURE),
        Quantity("angle", "an angle", "rad", _ANGLE),
        Quantity("output", "an output of yarn", "kg/s", _OUTPUT),
        Quantity("stiffness", "a stiffness", "N/m", _STIFFNESS),
        Quantity("damping", "a damping", "N s/m", _DAMPING),
        Quantity("kinematic viscosity", "a kinematic viscosity", "m2/s", _VISCOSITY),
        Quantity("unbalance", "an unbalance", "kg m", _UNBALANCE),
        Quantity("torque", "a torque", "N m", _TORQUE),
        Quantity("specific energy", "an energy for a kilogram", "J/kg", _SPECIFIC_ENERGY),
    )
}
