"""The fields of the bench: what may be moved there, in which unit, over which span, and to which parts it belongs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ringwright.mill import Frame, Setting, Traveller
from ringwright.setting.choice import Choice

__all__ = ["FIELDS", "SWITCHES", "Choice", "Field", "Span", "Switch", "field_at"]

Span = tuple[float, float, float]
"""Least, most and step of a slider, in the field's unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """A quantity that may be tried: its key in the address, its name, and where it stands in the mill.

    ``of`` is the dotted key of the frame that it stands for, or "" where it is part of the setting.
    """

    key: str
    name: str
    quantity: str
    unit: str
    parts: tuple[str, ...]
    of: str
    value: Callable[[Choice], float | None]
    """As the mill has it, SI; None where the frame has no such part."""
    span: Callable[[Choice], Span]
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """A choice of two words: the first is how the mill's frame may be, the second what it is without."""

    key: str
    name: str
    words: tuple[str, str]
    parts: tuple[str, ...]
    offered: Callable[[Choice], bool]


def _number(frame: Frame, key: str) -> float | None:
    part, name = key.split(".")
    table = getattr(frame, part)
    return None if table is None else float(getattr(table, name))


def _round(value: float, step: float) -> float:
    return round(value / step) * step


def _about(key: str, below: float, above: float) -> Callable[[Choice], Span]:
    """Give a span in mm around what the frame has."""

    def span(choice: Choice) -> Span:
        here = 1e3 * (_number(choice.frame, key) or 0.0)
        return max(0.0, _round(here - below, 1.0)), _round(here + above, 1.0), 1.0

    return span


def _traveller(choice: Choice) -> Span:
    mass = 1e6 * choice.traveller.mass
    return max(1.0, _round(0.4 * mass, 0.5)), _round(1.8 * mass, 0.5), 0.5


def _speed(choice: Choice) -> Span:
    rpm = 30 / 3.141592653589793
    setting, most = choice.setting, choice.frame.spindle.highest_speed
    quickest = max(setting.start_speed, setting.base_speed, setting.main_speed, setting.tip_speed)
    top = most * setting.main_speed / quickest
    return _round(0.6 * setting.main_speed * rpm, 100.0), 50.0 * (top * rpm * (1 + 1e-9) // 50.0), 50.0


def _control_diameter(choice: Choice) -> Span:
    frame = choice.frame
    return 1e3 * frame.build.cop_diameter + 1.0, 1e3 * frame.gauge - 4.0, 0.5


def _mass_of(choice: Choice) -> float:
    traveller: Traveller = choice.traveller
    return traveller.mass


def _main_speed(choice: Choice) -> float:
    setting: Setting = choice.setting
    return setting.main_speed


FIELDS: tuple[Field, ...] = (
    Field(
        key="traveller", name="Traveller mass", quantity="mass", unit="mg", parts=("ring", "balloon"), of="",
        value=_mass_of, span=_traveller, why="The traveller number is its mass in mg.",
    ),
    Field(
        key="speed", name="Spindle speed, main part", quantity="rotation", unit="rpm",
        parts=("ring", "wharve", "spindle"), of="", value=_main_speed, span=_speed,
        why="Start, base and tip change in the same ratio.",
    ),
    Field(
        key="friction", name="Ring friction", quantity="ratio", unit="1", parts=("ring",), of="ring.friction",
        value=lambda choice: choice.frame.ring.friction, span=lambda _: (0.05, 0.30, 0.005),
        why="Of the traveller on the ring.",
    ),
    Field(
        key="control_diameter", name="Control ring diameter", quantity="length", unit="mm", parts=("control-ring",),
        of="control_ring.diameter", value=lambda choice: _number(choice.frame, "control_ring.diameter"),
        span=_control_diameter,
    ),
    Field(
        key="control_height", name="Control ring height, at start", quantity="length", unit="mm",
        parts=("control-ring",), of="control_ring.height",
        value=lambda choice: _number(choice.frame, "control_ring.height"), span=_about("control_ring.height", 50, 60),
        why="Above the ring rail's lowest place.",
    ),
    Field(
        key="guide_height", name="Lappet height, at start", quantity="length", unit="mm", parts=("lappet", "balloon"),
        of="guide.height", value=lambda choice: _number(choice.frame, "guide.height"),
        span=_about("guide.height", 20, 60), why="Above the ring rail's lowest place.",
    ),
    Field(
        key="guide_lift", name="Lappet travel in a doff", quantity="length", unit="mm", parts=("lappet",),
        of="guide.lift", value=lambda choice: _number(choice.frame, "guide.lift"), span=_about("guide.lift", 120, 60),
    ),
)  # fmt: skip

SWITCHES: tuple[Switch, ...] = (
    Switch(key="guide", name="Lappet", words=("travels", "fixed"), parts=("lappet",), offered=lambda _: True),
    Switch(
        key="control_ring", name="Control ring", words=("fitted", "none"), parts=("control-ring", "balloon"),
        offered=lambda choice: choice.frame.control_ring is not None,
    ),
)  # fmt: skip


def field_at(key: str) -> Field:
    """Find a field by its key; KeyError if there is none."""
    return next(field for field in FIELDS if field.key == key)
