"""The numbers of each part at one place: setting A with its interval over ring friction, and setting B beside it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ringwright.mill import Mill, origin_of
from ringwright.physics.draft import draft_by_counts
from ringwright.physics.traveller_speed import rubbing_speed
from ringwright.report.number import Number, Origin
from ringwright.workbench.place import Place, State

__all__ = ["PARTS", "Row", "label_number", "numbers_of"]

PARTS = (
    "creel", "drafting", "triangle", "lappet", "balloon", "control-ring", "separators", "ring", "cop", "wharve",
    "spindle",
)  # fmt: skip
"""The parts in the order in which the yarn meets them."""

NONE = "none fitted"
Value = Callable[[State], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A named number of A, with B's beside it; a sentence where there is none."""

    name: str
    a: Number | str
    b: Number | str | None = None


@dataclass(frozen=True, slots=True)
class _Spec:
    """How a row is made: its value of a state, its unit, and for a value of the mill the dotted key it stands at.

    ``only`` says whether a frame has what the row tells of: nothing presses on a ring that is not there, which is no
    pressure of nought.
    """

    name: str
    unit: str
    value: Value
    key: str = ""
    step: float | None = None
    only: Callable[[State], bool] = lambda _: True


def _mill(name: str, unit: str, key: str, step: float | None = None) -> _Spec:
    """Make a row of what the mill's file says of the frame, the yarn or the setting ("frame.ring.diameter")."""

    def value(state: State) -> float:
        found: object = state.choice
        for part in key.split("."):
            found = getattr(found, part, None)
        return math.nan if found is None else float(found)  # type: ignore[arg-type]

    return _Spec(name, unit, value, key, step)


def _force(name: str, field: str) -> _Spec:
    return _Spec(name, "cN", lambda s: float(getattr(s.forces, field)[0]))


def _solved(name: str, unit: str, field: str, step: float | None = None) -> _Spec:
    return _Spec(name, unit, lambda s: float(getattr(s.solutions, field)[0]), step=step)


def _placed(name: str, unit: str, field: str, step: float | None = None) -> _Spec:
    return _Spec(name, unit, lambda s: float(getattr(s.places, field)[0]), step=step)


def _wound(state: State) -> float:
    return float(state.places.share[0]) * state.problem.content


def _rubbing(state: State) -> float:
    return float(rubbing_speed(state.places.traveller_speed, state.choice.frame.ring.diameter)[0])


def _ringed(state: State) -> bool:
    return state.choice.frame.control_ring is not None


def _plated(state: State) -> bool:
    return state.choice.frame.separators.fitted


def _separator_room(state: State) -> float:
    return float(state.forces.separator_room[0])


def _strength_share(state: State) -> float:
    return float(state.forces.triangle_most[0]) / state.choice.yarn.strength


def _specs(part: str, mill: Mill) -> Sequence[_Spec]:
    if part in {"creel", "drafting"}:
        return _supply(part, mill)
    return _SPECS[part]


def _supply(part: str, mill: Mill) -> Sequence[_Spec]:
    def roving(state: State) -> float:
        return mill.rovings[state.choice.setting.roving].count

    def draft(state: State) -> float:
        return float(draft_by_counts(roving(state), state.choice.yarn.count))

    if part == "creel":
        bobbin = _Spec(
            "Roving on a full bobbin", "g", lambda s: mill.rovings[s.choice.setting.roving].bobbin_mass, "roving"
        )
        return (_Spec("Roving count", "hank", roving, "roving"), bobbin, _mill("Yarn count", "tex", "yarn.count"))
    return (
        _Spec("Draft, roving to yarn", "times", draft),
        _mill("Break draft wanted", "times", "frame.drafting.break_draft", 0.01),
        _mill("Front roller", "mm", "frame.drafting.front_roller_diameter"),
        _mill("Twist multiplier", "TM", "yarn.twist_multiplier"),
        _Spec("Twist", "t/m", lambda s: s.problem.twist),
        _placed("Yarn delivered", "m/min", "yarn_speed"),
    )


_SPECS: dict[str, Sequence[_Spec]] = {
    "triangle": (
        _force("Tension at the triangle, mean of a turn", "triangle_tension"),
        _force("least in a turn", "triangle_least"),
        _force("most in a turn", "triangle_most"),
        _Spec("Most, as a share of yarn strength", "%", _strength_share),
        _mill("Yarn strength, mean", "cN", "yarn.strength"),
    ),
    "lappet": (
        _placed("Height above the rail's lowest place", "mm", "guide_height"),
        _mill("Travel in a doff", "mm", "frame.guide.lift"),
        _mill("Movement with each stroke", "mm", "frame.guide.stroke"),
        _force("Tension just below the eyelet", "guide_tension"),
        _force("Tension at the triangle", "triangle_tension"),
        _solved("Balloon's angle at the eyelet", "degrees", "guide_angle"),
        _mill("Friction of yarn on eyelet", "1", "frame.guide.friction"),
    ),
    "balloon": (
        _placed("Height, ring to lappet", "mm", "balloon_height"),
        _solved("Largest radius", "mm", "largest_radius", 0.1),
        _solved("that far below the lappet", "mm", "largest_radius_depth"),
        _solved("Yarn in the balloon", "mm", "balloon_length"),
        _force("Tension below the lappet", "guide_tension"),
        _force("Tension above the traveller", "ring_tension"),
        _solved("Traveller trails the lappet's end by", "degrees", "lag"),
        _mill("Drag coefficient of the yarn", "1", "yarn.drag_coefficient"),
    ),
    "control-ring": (
        _mill("Diameter", "mm", "frame.control_ring.diameter", 0.1),
        _placed("Height above the rail's lowest place", "mm", "control_ring_height"),
        _mill("Travel in a doff", "mm", "frame.control_ring.lift"),
        replace(_force("The yarn presses on it with", "control_ring_force"), only=_ringed),
        replace(_solved("and bends there by", "degrees", "control_ring_bend", 0.1), only=_ringed),
        _mill("Friction of yarn on it", "1", "frame.control_ring.friction"),
    ),
    "separators": (
        _Spec("Room from balloon to plate", "mm", _separator_room, step=0.1, only=_plated),
        _Spec("Room from balloon to half the gauge", "mm", _separator_room, step=0.1, only=lambda s: not _plated(s)),
        _solved("Largest radius of the balloon", "mm", "largest_radius", 0.1),
        _mill("Gauge", "mm", "frame.gauge"),
        replace(_mill("Thickness of a plate", "mm", "frame.separators.thickness", 0.1), only=_plated),
    ),
    "ring": (
        _mill("Ring friction", "1", "frame.ring.friction"),
        _Spec("Traveller speed", "m/s", _rubbing),
        _placed("Lags the spindle by", "rpm", "traveller_lag", 1.0),
        _force("Presses on the ring", "ring_force"),
        _Spec("Heat made at the ring", "W", lambda s: float(s.forces.traveller_heat[0])),
        _force("Winding tension", "winding_tension"),
        _solved("Winding over balloon tension", "1", "winding_ratio"),
        _mill("Ring diameter", "mm", "frame.ring.diameter"),
        _mill("Traveller", "mg", "traveller.mass"),
    ),
    "cop": (
        _Spec("Yarn on the cop", "g", _wound, step=0.1),
        _Spec("when full", "g", lambda s: s.problem.content, step=0.1),
        _placed("Wound on a diameter of", "mm", "winding_diameter", 0.1),
        _placed("Ring rail above its lowest place", "mm", "ring_height"),
        _mill("Chase", "mm", "frame.build.chase"),
        _mill("Lift", "mm", "frame.build.lift"),
        _mill("Cop diameter", "mm", "frame.build.cop_diameter"),
        _Spec("Doff lasts", "min", lambda s: s.problem.doff_time),
        _placed("Twist missing on the cop", "t/m", "missing_twist"),
    ),
    "wharve": (
        _mill("Wharve diameter", "mm", "frame.spindle.wharve_diameter", 0.1),
        _mill("Drum or pulley", "mm", "frame.drive.drum_diameter"),
        _mill("Slip", "%", "frame.drive.slip"),
        _placed("Spindle speed now", "rpm", "spindle_speed"),
    ),
    "spindle": (
        _placed("Speed now", "rpm", "spindle_speed"),
        _mill("Main speed", "rpm", "setting.main_speed"),
        _mill("Start speed", "rpm", "setting.start_speed"),
        _mill("Base speed", "rpm", "setting.base_speed"),
        _mill("Tip speed", "rpm", "setting.tip_speed"),
        _mill("Highest speed it is built for", "rpm", "frame.spindle.highest_speed"),
    ),
}


def numbers_of(part: str, mill: Mill, a: Place, b: Place | None) -> list[Row]:
    """List the numbers of a part for setting A, and B where it is given; rows that the frame lacks are left out."""
    rows = []
    for spec in _specs(part, mill):
        one, other = _number(spec, mill, a), None if b is None else _number(spec, mill, b)
        if one or other:
            rows.append(Row(name=spec.name, a=one or NONE, b=other or (NONE if b else None)))
    return rows or [Row(name="On this frame", a=NONE, b=NONE if b else None)]


def _number(spec: _Spec, mill: Mill, place: Place) -> Number | str:
    """Give the number, a sentence where there is no steady balloon, or "" where the frame has no such part."""
    if not spec.only(place.here):
        return ""
    value = spec.value(place.here)
    if not math.isfinite(value):
        return "" if spec.key or place.here.steady else "no steady balloon"
    ends = [spec.value(state) for state in place.band] if not spec.key else []
    span = [value, *ends]
    known = all(math.isfinite(end) for end in span) and max(span) - min(span) > 1e-9 * abs(value)
    low, high = (min(span), max(span)) if known else (None, None)
    return Number(value=value, unit=spec.unit, origin=_origin(spec, mill, place), low=low, high=high, step=spec.step)


def _origin(spec: _Spec, mill: Mill, place: Place) -> Origin:
    if not spec.key:
        return Origin.COMPUTED
    kind, _, key = spec.key.partition(".")
    if kind == "roving":
        return Origin(origin_of(mill.rovings[place.here.choice.setting.roving], "count")[0])
    return Origin(origin_of(getattr(place.here.choice, kind), key)[0])


_LABELS: dict[str, tuple[str, int, str]] = {
    "creel": ("creel", 0, ""),
    "drafting": ("drafting", 0, "draft"),
    "triangle": ("triangle", 0, ""),
    "lappet": ("lappet", 0, "up"),
    "balloon": ("balloon", 0, "tall"),
    "control-ring": ("control-ring", 3, "pressed"),
    "separators": ("separators", 0, "clear"),
    "ring": ("ring", 8, ""),
    "cop": ("cop", 0, ""),
    "wharve": ("wharve", 0, ""),
    "spindle": ("spindle", 0, ""),
}


def label_number(part: str, mill: Mill, place: Place) -> tuple[Number | str, str]:
    """Give the one number that stands at a part in the drawing, and the word after it."""
    kind, row, word = _LABELS[part]
    number = _number(_specs(kind, mill)[row], mill, place) or NONE
    if part == "separators" and isinstance(number, Number) and number.value < 0:
        return replace(number, value=-number.value), "past it"
    return number, word
