"""One spinning position written as plain keys, as in a JSON line or a small TOML file: checked, then made SI.

The unit stands in the key's name, so the values are bare numbers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, nan, pi

import numpy as np

from ringwright.physics.position import Positions
from ringwright.refusal import Fault, Refusal, nearest

__all__ = ["KEYS", "Key", "checked", "positions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One input of a position: the key people write, the field it fills, and what it may be."""

    name: str
    field: str
    to_si: float
    unit: str
    meaning: str
    low: float
    high: float
    default: float | None = None
    origin: str = ""
    zero: bool = False
    """Whether 0 is allowed below ``low``, as the word for 'none'."""


KEYS: tuple[Key, ...] = (
    Key(name="yarn_tex", field="yarn_linear_density", to_si=1e-6, unit="tex", meaning="yarn count", low=1, high=1000),
    Key(name="ring_diameter_mm", field="ring_diameter", to_si=1e-3, unit="mm", meaning="ring", low=15, high=300),
    Key(
        name="balloon_height_mm",
        field="balloon_height",
        to_si=1e-3,
        unit="mm",
        low=10,
        high=1500,
        meaning="height from the traveller up to the guide",
    ),
    Key(
        name="traveller_speed_rpm",
        field="traveller_speed",
        to_si=2 * pi / 60,
        unit="rpm",
        low=100,
        high=60000,
        meaning="speed of the traveller (a little below the spindle's)",
    ),
    Key(name="traveller_mass_mg", field="traveller_mass", to_si=1e-6, unit="mg", meaning="traveller", low=1, high=5000),
    Key(
        name="winding_diameter_mm",
        field="winding_diameter",
        to_si=1e-3,
        unit="mm",
        low=3,
        high=290,
        meaning="diameter at which the yarn winds on",
    ),
    Key(
        name="ring_traveller_friction",
        field="ring_traveller_friction",
        to_si=1,
        unit="",
        low=0.005,
        high=1,
        meaning="friction of the traveller on the ring",
        default=0.1,
        origin="assumed",
    ),
    Key(
        name="yarn_traveller_friction",
        field="yarn_traveller_friction",
        to_si=1,
        unit="",
        low=0,
        high=1.5,
        meaning="friction of the yarn on the traveller",
        default=0.3,
        origin="assumed",
    ),
    Key(
        name="fixed_tension_ratio",
        field="fixed_tension_ratio",
        to_si=1,
        unit="",
        low=1,
        high=10,
        zero=True,
        meaning="winding tension over tension above the traveller; 0 = from the wrap",
        default=0.0,
        origin="common practice",
    ),
    Key(
        name="drag_coefficient",
        field="drag_coefficient",
        to_si=1,
        unit="",
        low=0,
        high=10,
        meaning="drag of the yarn across the air",
        default=1.0,
        origin="assumed",
    ),
    Key(
        name="air_density_kg_m3",
        field="air_density",
        to_si=1,
        unit="kg/m3",
        low=0,
        high=5,
        meaning="density of the air",
        default=1.2,
        origin="assumed",
    ),
    Key(
        name="yarn_density_kg_m3",
        field="yarn_density",
        to_si=1,
        unit="kg/m3",
        low=100,
        high=5000,
        meaning="density of the yarn's body, which gives its diameter",
        default=1 / 1.1e-3,
        origin="assumed",
    ),
    Key(
        name="feed_speed_m_s",
        field="feed_speed",
        to_si=1,
        unit="m/s",
        low=0,
        high=5,
        meaning="speed of the yarn along itself; 0 leaves its small terms out",
        default=0.0,
        origin="common practice",
    ),
    Key(
        name="gravity_m_s2",
        field="gravity",
        to_si=1,
        unit="m/s2",
        low=0,
        high=30,
        meaning="gravity; 0 leaves its small term out",
        default=0.0,
        origin="common practice",
    ),
    Key(
        name="control_ring_diameter_mm",
        field="control_ring_diameter",
        to_si=1e-3,
        unit="mm",
        low=5,
        high=400,
        zero=True,
        meaning="balloon control ring; 0 = none",
        default=0.0,
        origin="common practice",
    ),
    Key(
        name="control_ring_depth_mm",
        field="control_ring_depth",
        to_si=1e-3,
        unit="mm",
        low=1,
        high=1500,
        zero=True,
        meaning="control ring's distance below the guide",
        default=0.0,
        origin="common practice",
    ),
    Key(
        name="control_ring_friction",
        field="control_ring_friction",
        to_si=1,
        unit="",
        low=0,
        high=1.5,
        meaning="friction of the yarn on the control ring",
        default=0.2,
        origin="assumed",
    ),
    Key(
        name="gauge_mm",
        field="gauge",
        to_si=1e-3,
        unit="mm",
        low=20,
        high=600,
        meaning="spindle gauge; the balloon touches the separator at half of it",
        default=nan,
        origin="not given",
    ),
)
LONGEST = 60
"""Signs of a strange value or key that a sentence repeats."""
_BY_NAME = {key.name: key for key in KEYS}
_NAMES = [key.name for key in KEYS]


def checked(given: object, where: str) -> dict[str, float]:
    """Check one position's keys; gives every key with its value or default; Refusal with every fault."""
    if not isinstance(given, Mapping):
        raise Refusal(
            Fault(where=where, got=_told(given), wants="an object with keys such as yarn_tex and ring_diameter_mm")
        )
    faults = [
        Fault(
            where=f"{where}: {_shortened(str(name))}",
            got="not a known key",
            wants="one of the keys of a position",
            mend=nearest(str(name), _NAMES),
        )
        for name in given
        if name not in _BY_NAME
    ]
    values: dict[str, float] = {}
    for key in KEYS:
        if key.name not in given:
            if key.default is None:
                faults.append(_fault(where, key, "missing"))
            else:
                values[key.name] = key.default
            continue
        value = given[key.name]
        if isinstance(value, bool) or not isinstance(value, int | float):
            faults.append(_fault(where, key, _told(value)))
        elif _inside(key, float(value)):
            values[key.name] = float(value)
        else:
            faults.append(_fault(where, key, f"{value:g}"))
    if not faults:
        faults = list(_together(values, where))
    if faults:
        raise Refusal(faults)
    return values


def _inside(key: Key, value: float) -> bool:
    return isfinite(value) and (key.low <= value <= key.high or (key.zero and value == 0.0))


def _told(value: object) -> str:
    """Tell a value as its file writes it: in TOML and JSON, true is no True and null no None."""
    words = {True: "true", False: "false"}.get(value, "") if isinstance(value, bool) else ""
    if value is None:
        words = "null"
    elif isinstance(value, str):
        words = f'"{value}"'
    elif isinstance(value, Mapping):
        words = "an object"
    return _shortened(words or str(value))


def _shortened(text: str) -> str:
    return text if len(text) <= LONGEST else text[: LONGEST - 3] + "..."


def _fault(where: str, key: Key, got: str) -> Fault:
    zero = "0 or " if key.zero else ""
    unit = f" {key.unit}" if key.unit else ""
    mend = "Write the number alone; the key names its unit." if got.startswith('"') else f"It is the {key.meaning}."
    return Fault(where=f"{where}: {key.name}", got=got, wants=f"{zero}{key.low:g} to {key.high:g}{unit}", mend=mend)


def _together(v: Mapping[str, float], where: str) -> list[Fault]:
    """Tell what does not fit together although each value alone is allowed."""
    faults = []
    ring, cop, height = v["ring_diameter_mm"], v["winding_diameter_mm"], v["balloon_height_mm"]
    control, depth, gauge = v["control_ring_diameter_mm"], v["control_ring_depth_mm"], v["gauge_mm"]

    def fault(name: str, got: float, wants: str, mend: str) -> None:
        faults.append(Fault(where=f"{where}: {name}", got=f"{got:g}", wants=wants, mend=mend))

    if cop >= ring:
        fault("winding_diameter_mm", cop, f"less than the ring's {ring:g} mm", "The tube or cop turns inside the ring.")
    if control > 0.0:
        if control <= cop:
            fault(
                "control_ring_diameter_mm",
                control,
                f"more than the winding diameter's {cop:g} mm, or 0 for none",
                "The cop must pass through the control ring.",
            )
        if not 0.0 < depth < height:
            fault(
                "control_ring_depth_mm",
                depth,
                f"more than 0 and less than the balloon height's {height:g} mm",
                "It counts down from the guide.",
            )
    elif depth > 0.0:
        fault(
            "control_ring_depth_mm",
            depth,
            "0 where control_ring_diameter_mm is 0",
            "Give the control ring's diameter, or leave its depth out.",
        )
    if gauge <= ring:
        fault("gauge_mm", gauge, f"more than the ring's {ring:g} mm", "The gauge is the distance between two spindles.")
    return faults


def positions(rows: Sequence[Mapping[str, float]]) -> Positions:
    """Make SI positions of checked rows."""
    return Positions(
        **{key.field: np.array([row[key.name] for row in rows], dtype=np.float64) * key.to_si for key in KEYS}
    )
