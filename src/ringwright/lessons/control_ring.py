"""The lesson of the balloon control ring: without one, or with one of a chosen diameter."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ringwright.lessons.ground import AS_IT_IS, Change, Ground, doff_of
from ringwright.lessons.lesson import Control, Lesson, Row, Shown, Span
from ringwright.lessons.line_chart import Wall
from ringwright.lessons.pair import Pair, doff_chart, force_row, most, notes_of, row, side_pictures, view_of
from ringwright.lessons.words import axis_value, edge, inputs_of, minute, number_or, reaches, source, told
from ringwright.mill import Frame
from ringwright.physics.position import solve
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff
from ringwright.setting.problem import positions, wall

__all__ = ["LESSON", "Without", "without_ring"]

HEAVIEST = 6.0
"""How many times its mass a traveller is made heavier in the search."""
NONE = Change(trial=Trial(control_ring=False))


@dataclass(frozen=True, slots=True, kw_only=True)
class Without:
    """What it takes to keep the balloon within its room without a control ring."""

    mass: float
    """Traveller that does it at the foot of every stroke [kg]; nan where none within the search does."""
    winding_tension: float
    """The doff's highest winding tension with it [N]."""


def _span(ground: Ground) -> Span:
    frame = ground.choice.frame
    return 1e3 * frame.build.cop_diameter + 1.0, float(np.floor(1e3 * frame.gauge - 4.0)), 0.5


def _diameter(frame: Frame) -> float:
    assert frame.control_ring is not None  # noqa: S101 - the lesson is shown only where one is fitted
    return frame.control_ring.diameter


def _change(ground: Ground, diameter: float) -> Change:
    if abs(diameter - _diameter(ground.choice.frame)) < 1e-9:
        return AS_IT_IS
    return Change(frame=(("control_ring.diameter", diameter),))


@lru_cache(maxsize=16)
def without_ring(ground: Ground) -> Without:
    """Find the traveller that would keep the balloon within its room without a control ring."""
    bare = doff_of(ground, NONE)
    feet = np.arange(0, len(bare.places), bare.places_per_stroke)
    masses = bare.choice.traveller.mass * np.geomspace(1.0, HEAVIEST, 48)
    many = positions(bare.choice, bare.places.take(np.tile(feet, len(masses))))
    radius = solve(replace(many, traveller_mass=np.repeat(masses, len(feet)))).largest_radius.reshape(-1, len(feet))
    fits = np.flatnonzero((radius <= wall(bare.choice.frame)).all(axis=1))  # false where there is no balloon
    if not fits.size:
        return Without(mass=float("nan"), winding_tension=float("nan"))
    mass = float(masses[fits[0]])
    heavy = doff_of(ground, Change(trial=Trial(control_ring=False, traveller_mass=mass)))
    return Without(mass=mass, winding_tension=most(heavy.forces.winding_tension))


def _widest(doff: Doff) -> int:
    radius = doff.forces.largest_radius
    return int(np.nanargmax(radius)) if np.isfinite(radius).any() else 0


def _answer(ground: Ground, diameter: float) -> Shown:
    words = f"ring of {told(diameter, 'mm', 0.5)}"
    pair = Pair(
        ground=ground, other=NONE, moved=_change(ground, diameter), other_name="no ring", moved_name=words
    )  # fmt: skip
    bare, ringed = pair.doffs
    index, face = _widest(bare), wall(bare.choice.frame)
    reach = [float(doff.forces.largest_radius[index]) for doff in pair.doffs]
    below = [reaches(r, bare.choice.frame) for r in reach]
    widest = [doff.envelope(doff.forces.largest_radius).most for doff in pair.doffs]
    outside = "plate" if bare.choice.frame.separators.fitted else "half gauge"
    in_mm = Wall(value=axis_value(face, "mm"), name=outside, above=True)
    foot = index // bare.places_per_stroke * bare.places_per_stroke
    return Shown(
        moved=f"control {words}",
        other="no control ring",
        pictures=side_pictures(
            pair, index, ("No control ring", f"Control {words}"), (below[0], below[1]), view=view_of(pair, index)
        ),
        when=f"Both at {minute(bare, index)}, where the balloon without a ring is widest.",
        rows=(
            row("Balloon, largest radius", "mm", (most(widest[0]), most(widest[1])), 0.1),
            row(f"Room to the {outside}, least", "mm", (face - most(widest[0]), face - most(widest[1])), 0.1),
            force_row(pair, "Tension at the triangle, highest", "triangle_tension"),
            force_row(pair, "Winding tension, highest", "winding_tension"),
            _on_ring("Push of the yarn on the ring, highest", most(ringed.forces.control_ring_force), "cN", 0.1),
            _on_ring("Rubbing power on the ring, highest", _rubbing(ringed), "W", 0.01),
        ),
        chart=doff_chart(
            pair, "Balloon's largest radius in each stroke", "mm", (list(widest[0]), list(widest[1])), foot,
            wall=in_mm,
        ),
        reasons=_reasons(ground, pair),
        notes=notes_of(pair),
    )  # fmt: skip


def _on_ring(name: str, value: float, unit: str, step: float) -> Row:
    return Row(name=name, other="no ring", moved=number_or(value, unit, step))


def _rubbing(doff: Doff) -> float:
    """Give the highest rubbing power of the yarn on the control ring [W]: friction x force x radius x speed."""
    ring = doff.choice.frame.control_ring
    assert ring is not None  # noqa: S101
    return most(ring.friction * doff.forces.control_ring_force * ring.diameter / 2 * doff.places.traveller_speed)


def _reasons(ground: Ground, pair: Pair) -> tuple[str, str, str]:
    bare, ringed = pair.doffs
    face, mass = wall(bare.choice.frame), ground.choice.traveller.mass
    open_to, held = most(bare.forces.largest_radius), most(ringed.forces.largest_radius)
    need = without_ring(ground)
    if open_to <= face:
        second = (
            f"Without a ring it would still keep its room, {told(face - open_to, 'mm', 0.1)}, but pull with up to "
            f"{told(most(bare.forces.winding_tension), 'cN')} at the winding point in place of "
            f"{told(most(ringed.forces.winding_tension), 'cN')}."
        )
    elif np.isfinite(need.mass):
        second = (
            f"To keep within that room without a ring the traveller would have to weigh {told(need.mass, 'mg', 1)} in "
            f"place of {told(mass, 'mg')}, and the highest winding tension would be {told(need.winding_tension, 'cN')} "
            f"in place of {told(most(ringed.forces.winding_tension), 'cN')}."
        )
    else:
        second = f"No traveller up to {told(HEAVIEST * mass, 'mg')} would keep it within that room without a ring."
    return (
        (
            f"Without a ring the balloon opens to {told(open_to, 'mm', 0.1)}, with it to {told(held, 'mm', 0.1)}, and "
            f"{edge(bare.choice.frame)} from the spindle."
        ),
        second,
        (
            f"The price: the yarn presses on the ring with up to {told(most(ringed.forces.control_ring_force), 'cN')} "
            f"and rubs {told(_rubbing(ringed), 'W', 0.01)} into it, which costs hairs and can soften a thermoplastic "
            f"fibre."
        ),
    )


def _sources(ground: Ground) -> tuple[str, ...]:
    hairs = source("common-practice", "Hairs and softened fibres at the ring")
    return inputs_of(ground), hairs


LESSON = Lesson(
    key="control-ring",
    name="With and without control ring",
    question="What does the control ring save?",
    think="Same yarn, traveller and speed; only the ring round the balloon differs. Before you move it: what would you "
    "have to change to spin without it?",
    control=Control(
        name="Control ring diameter", quantity="length", unit="mm", span=_span,
        start=lambda ground: _diameter(ground.choice.frame), why="It stays at its height and on its travel.",
    ),
    answer=_answer,
    sources=_sources,
    left_out="How many hairs the rubbing raises is not computed, nor how warm the yarn gets.",
    works=("setting control rings", "all work past the guards"),
    missing=lambda ground: "" if ground.choice.frame.control_ring else "The frame has no control ring.",
)  # fmt: skip
