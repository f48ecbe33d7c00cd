"""What holds for every unit: there and back, and the same as an independent library of units says."""

from __future__ import annotations

import math
from typing import Any

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ringwright.units import QUANTITIES, from_unit, in_unit, parse, show

EVERY_UNIT = [(name, unit.symbol) for name, quantity in QUANTITIES.items() for unit in quantity.units]
FIGURES = st.floats(min_value=1e-3, max_value=1e6, allow_nan=False)

# Oracle: pint's own unit definitions (its textile group and its textile context for reciprocal counts), an independent
# public library. Expressions that it has no name for are written out from its units.
PINT = {
    ("count", "tex"): "tex",
    ("count", "dtex"): "dtex",
    ("count", "mtex"): "mtex",
    ("count", "ktex"): "ktex",
    ("count", "den"): "denier",
    ("count", "µg/in"): "microgram / inch",
    ("count", "kg/m"): "kg / m",
    ("twist", "t/m"): "1 / m",
    ("twist", "tpi"): "1 / inch",
    ("twist", "t/cm"): "1 / cm",
    ("rotation", "rpm"): "rpm",
    ("rotation", "Hz"): "turn / second",
    ("rotation", "rad/s"): "radian / second",
    ("length", "mm"): "mm",
    ("length", "cm"): "cm",
    ("length", "m"): "m",
    ("length", "km"): "km",
    ("length", "in"): "inch",
    ("length", "yd"): "yard",
    ("mass", "mg"): "mg",
    ("mass", "g"): "g",
    ("mass", "kg"): "kg",
    ("mass", "grain"): "grain",
    ("mass", "lb"): "pound",
    ("force", "cN"): "centinewton",
    ("force", "N"): "newton",
    ("force", "mN"): "millinewton",
    ("force", "gf"): "gram * standard_gravity",
    ("tenacity", "cN/tex"): "centinewton / tex",
    ("tenacity", "gf/tex"): "gram * standard_gravity / tex",
    ("tenacity", "gf/den"): "gram * standard_gravity / denier",
    ("speed", "m/s"): "m / s",
    ("speed", "m/min"): "m / minute",
    ("time", "s"): "s",
    ("time", "min"): "minute",
    ("time", "h"): "hour",
    ("density", "g/cm3"): "g / cm**3",
    ("density", "kg/m3"): "kg / m**3",
    ("share", "%"): "percent",
    ("torque", "mN m"): "millinewton * meter",
    ("torque", "N m"): "newton * meter",
    ("torque", "cN cm"): "centinewton * cm",
    ("power", "W"): "watt",
    ("power", "mW"): "milliwatt",
    ("power", "kW"): "kilowatt",
    ("pressure", "kPa"): "kilopascal",
    ("pressure", "Pa"): "pascal",
    ("angle", "°"): "degree",
    ("angle", "rad"): "radian",
    ("output", "g/h"): "g / hour",
    ("output", "kg/h"): "kg / hour",
    ("output", "kg/s"): "kg / s",
    ("specific energy", "Wh/kg"): "watt_hour / kg",
    ("specific energy", "kWh/kg"): "kilowatt_hour / kg",
    ("stiffness", "N/mm"): "N / mm",
    ("stiffness", "N/m"): "N / m",
    ("stiffness", "kN/mm"): "kN / mm",
    ("damping", "N s/m"): "N * s / m",
    ("kinematic viscosity", "mm2/s"): "centistokes",
    ("kinematic viscosity", "m2/s"): "m**2 / s",
    ("unbalance", "g mm"): "g * mm",
    ("unbalance", "kg m"): "kg * m",
}
SI_IN_PINT = {
    "count": "kg / m", "twist": "1 / m", "rotation": "radian / s", "length": "m", "mass": "kg", "force": "N",
    "tenacity": "N * m / kg", "speed": "m / s", "time": "s", "density": "kg / m**3", "share": "dimensionless",
    "power": "W", "pressure": "Pa", "angle": "radian", "output": "kg / s",
    "stiffness": "N / m", "damping": "N * s / m", "kinematic viscosity": "m**2 / s", "unbalance": "kg * m",
    "torque": "N * m", "specific energy": "J / kg",
}  # fmt: skip
RECIPROCAL = {"Ne": "number_english", "hank": "number_english", "Nm": "number_meter"}
BY_ROOT_OF_COUNT = {"TM", "alpha_tex", "alpha_m"}


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[Any]:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("quantity", "symbol"), EVERY_UNIT)
@settings(max_examples=25)
@given(figure=FIGURES)
def test_a_value_goes_into_a_unit_and_back(quantity, symbol, figure):
    value = from_unit(figure, quantity, symbol)
    assert in_unit(value, quantity, symbol) == pytest.approx(figure, rel=1e-14)
    written = f"{figure!r} {symbol}" if symbol != "1" else repr(figure)
    assert parse(written, quantity, "here") == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(("quantity", "symbol"), EVERY_UNIT)
@settings(max_examples=25)
@given(whole=st.integers(min_value=1, max_value=9_999_999))
def test_what_is_shown_can_be_read_again(quantity, symbol, whole):
    value = from_unit(float(whole), quantity, symbol)
    assert parse(show(value, quantity, symbol, 0), quantity, "here") == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(("quantity", "symbol"), sorted(PINT))
def test_linear_units_agree_with_pint(quantity, symbol, registry):
    expected = registry.Quantity(7.25, PINT[quantity, symbol]).to(SI_IN_PINT[quantity]).magnitude
    assert from_unit(7.25, quantity, symbol) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("symbol", sorted(RECIPROCAL))
@given(figure=st.floats(min_value=0.2, max_value=200))
def test_reciprocal_counts_agree_with_pints_textile_context(symbol, figure, registry):
    with registry.context("textile"):
        expected = registry.Quantity(figure, RECIPROCAL[symbol]).to("kg / m").magnitude
    assert from_unit(figure, "count", symbol) == pytest.approx(expected, rel=1e-12)


@given(count=st.floats(min_value=5, max_value=100), twist=st.floats(min_value=5, max_value=50))
def test_twist_multipliers_agree_with_twist_and_count_converted_by_pint(count, twist, registry):
    """TM = tpi / sqrt(Ne), alpha_tex = t/m x sqrt(tex), alpha_m = t/m / sqrt(Nm), of one yarn."""
    with registry.context("textile"):
        tex = registry.Quantity(count, "number_english").to("tex").magnitude
    per_metre = registry.Quantity(twist, "1 / inch").to("1 / m").magnitude
    value = from_unit(twist / math.sqrt(count), "twist multiplier", "TM")
    assert in_unit(value, "twist multiplier", "alpha_tex") == pytest.approx(per_metre * math.sqrt(tex), rel=1e-12)
    assert in_unit(value, "twist multiplier", "alpha_m") == pytest.approx(per_metre / math.sqrt(1000 / tex), rel=1e-12)
    assert value == pytest.approx(per_metre * math.sqrt(tex * 1e-6), rel=1e-12)


def test_every_unit_is_held_against_pint_or_is_the_plain_number():
    held = set(PINT) | {("count", symbol) for symbol in RECIPROCAL}
    held |= {("twist multiplier", symbol) for symbol in BY_ROOT_OF_COUNT}
    assert {pair for pair in EVERY_UNIT if pair[1] != "1"} == held
