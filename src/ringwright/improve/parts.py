"""The parts that may be changed, their steps, and the frames that come of them."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from ringwright.mill import TRAVELLER_MASSES, Frame
from ringwright.mill.rule import breaches
from ringwright.mill.table import number_at
from ringwright.physics.traveller_mass import usual_traveller_mass
from ringwright.refusal import Fault, Refusal, nearest
from ringwright.setting.choice import Choice
from ringwright.setting.plan_notes import traveller_column
from ringwright.units import show

__all__ = ["Axis", "Pick", "Reach", "axes_for", "changes", "fits", "with_parts"]

Pick = tuple[int, ...]
"""One candidate: for each axis the number of its step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How far each part may be moved from where it is, and in which steps, SI: (least, most, step).

    Assumed, as a mill file does not say it: what a mechanic can set without new brackets. The traveller goes over the
    R20 series as far as the published table of usual masses for the count reaches, or ``traveller`` steps down and up
    where the count lies outside it. A part that is to stay as it is has no reach, ``None``.
    """

    traveller: tuple[int, int] | None = (-2, 2)
    control_ring_diameter: tuple[float, float, float] | None = (-4e-3, 8e-3, 2e-3)
    control_ring_height: tuple[float, float, float] | None = (-20e-3, 30e-3, 5e-3)
    control_ring_lift: tuple[float, float, float] | None = (-20e-3, 20e-3, 10e-3)
    guide_height: tuple[float, float, float] | None = (-20e-3, 30e-3, 5e-3)
    guide_lift: tuple[float, float, float] | None = (-30e-3, 30e-3, 10e-3)

    def keeping(self, names: tuple[str, ...]) -> Reach:
        """Give the reach with some parts kept as they are; Refusal with the nearest name for one that is not known."""
        known = [field.name.replace("_", "-") for field in fields(self)]
        unknown = [name for name in names if name not in known]
        if unknown:
            wants = f"one of {', '.join(known)}"
            raise Refusal(
                Fault(where="the part to keep", got=f'"{name}"', wants=wants, mend=nearest(name, known))
                for name in unknown
            )
        return replace(self, **{name.replace("-", "_"): None for name in names})


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """One part that may be changed: its dotted key in the frame (or "traveller"), its name and its steps [SI]."""

    key: str
    name: str
    quantity: str
    unit: str
    steps: tuple[float, ...]
    present: int
    """Number of the step that is the present value."""

    def told(self, step: int) -> str:
        """Tell a step with its unit."""
        return show(self.steps[step], self.quantity, self.unit)


_LENGTHS = (
    ("control_ring.diameter", "control_ring_diameter", "control ring, diameter"),
    ("control_ring.height", "control_ring_height", "control ring, height at the start"),
    ("control_ring.lift", "control_ring_lift", "control ring, rise over the doff"),
    ("guide.height", "guide_height", "guide, height at the start"),
    ("guide.lift", "guide_lift", "guide, rise over the doff"),
)


def axes_for(choice: Choice, reach: Reach) -> tuple[Axis, ...]:
    """Give the parts of a frame that may be changed; a part that is not there, or is kept, has no axis."""
    axes = [] if reach.traveller is None else [_traveller(choice, reach.traveller)]
    for key, field, name in _LENGTHS:
        span, present = getattr(reach, field), number_at(choice.frame, key)
        if span is None or present is None or (key == "guide.lift" and choice.setting.guide_fixed):
            continue
        low, high, step = span
        counts = range(int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9)) + 1)
        steps = [present + count * step for count in counts]
        steps = [present if abs(value - present) < 1e-9 else value for value in steps if value > 0]
        axes.append(
            Axis(key=key, name=name, quantity="length", unit="mm", steps=tuple(steps), present=steps.index(present))
        )
    if not axes:
        raise Refusal(Fault(where="the parts to change", got="none", wants="at least one part that is not kept"))
    return tuple(axes)


def _traveller(choice: Choice, span: tuple[int, int]) -> Axis:
    """Give the series over the usual masses for the count; the present mass stands among them wherever it lies."""
    mass, yarn = choice.traveller.mass, choice.yarn
    usual = usual_traveller_mass(yarn.count, traveller_column(yarn))
    series = sorted({*TRAVELLER_MASSES, mass})
    if usual is None:
        here = series.index(mass)
        steps = series[max(here + span[0], 0) : here + span[1] + 1]
    else:
        steps = [one for one in series if usual.lightest * 0.98 <= one <= usual.heaviest * 1.02 or one == mass]
    return Axis(
        key="traveller", name="traveller", quantity="mass", unit="mg", steps=tuple(steps), present=steps.index(mass)
    )


def with_parts(choice: Choice, axes: tuple[Axis, ...], pick: Pick) -> Choice:
    """Give the choice with the parts picked; the frame's own rules are not looked at."""
    frame, traveller = choice.frame, choice.traveller
    for axis, step in zip(axes, pick, strict=True):
        if step == axis.present:
            continue
        value = axis.steps[step]
        if axis.key == "traveller":
            traveller = traveller.model_copy(update={"name": show(value, "mass", "mg"), "mass": value})
            continue
        part, key = axis.key.split(".")
        inner: Any = getattr(frame, part)
        frame = frame.model_copy(update={part: inner.model_copy(update={key: value})})
    return replace(choice, frame=frame, traveller=traveller)


def fits(frame: Frame) -> bool:
    """Say whether a frame keeps every rule of the mill's models."""
    return not breaches(frame.rules, lambda key: number_at(frame, key))


def changes(axes: tuple[Axis, ...], pick: Pick) -> tuple[tuple[Axis, int], ...]:
    """Give the axes whose part a candidate changes, with the step it takes."""
    return tuple((axis, step) for axis, step in zip(axes, pick, strict=True) if step != axis.present)
