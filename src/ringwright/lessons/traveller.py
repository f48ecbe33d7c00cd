"""The lesson of the traveller: heavy or light."""

from __future__ import annotations

import numpy as np

from ringwright.lessons.ground import AS_IT_IS, Change, Ground
from ringwright.lessons.lesson import Control, Lesson, Shown, Span
from ringwright.lessons.line_chart import Wall
from ringwright.lessons.pair import Pair, doff_chart, force_row, most, notes_of, row, side_pictures, view_of
from ringwright.lessons.words import axis_value, changed, inputs_of, minute, reaches, source, told
from ringwright.physics.outcome import Outcome
from ringwright.setting.choice import Trial
from ringwright.setting.doff import Doff

__all__ = ["LESSON", "thrown_outward"]


def _span(ground: Ground) -> Span:
    mass = 1e6 * ground.choice.traveller.mass
    return float(max(1.0, round(0.4 * mass / 0.5) * 0.5)), float(round(1.8 * mass / 0.5) * 0.5), 0.5


def thrown_outward(mass: float, speed: float, ring_diameter: float) -> float:
    """Return the force [N] that throws a traveller outward: mass [kg] x speed [rad/s] squared x half the ring [m]."""
    return mass * speed**2 * ring_diameter / 2


def _answer(ground: Ground, mass: float) -> Shown:
    as_set = ground.choice.traveller.mass
    moved = AS_IT_IS if abs(mass - as_set) < 1e-12 else Change(trial=Trial(traveller_mass=mass))
    pair = Pair(ground=ground, other=AS_IT_IS, moved=moved, other_name=told(as_set, "mg"), moved_name=told(mass, "mg"))
    usual = pair.doffs[0]
    radius = usual.forces.largest_radius
    index = int(np.nanargmax(radius)) if np.isfinite(radius).any() else 0
    widest = [float(doff.forces.largest_radius[index]) for doff in pair.doffs]
    below = [reaches(r, usual.choice.frame) for r in widest]
    peaks = [doff.envelope(doff.forces.triangle_tension).most for doff in pair.doffs]
    limit = _limit(ground)
    # A limit far above the tensions would only press the curves flat; its share of strength stands in the table.
    far = limit is None or limit > 1.6 * max(most(peak) for peak in peaks)
    in_cn = None if limit is None or far else Wall(value=axis_value(limit, "cN"), name="mill's limit", above=True)
    return Shown(
        moved=f"traveller {told(mass, 'mg')}",
        other=f"traveller {told(as_set, 'mg')}, as set",
        pictures=side_pictures(
            pair, index, (f"{told(as_set, 'mg')}, as set", told(mass, "mg")), (below[0], below[1]),
            view=view_of(pair, index),
        ),
        when=f"Both at {minute(usual, index)}, where the balloon of the traveller as set is widest.",
        rows=(
            row("Thrown outward, main speed", "N", (_thrown(ground, as_set), _thrown(ground, mass))),
            force_row(pair, "Balloon, largest radius", "largest_radius", "mm"),
            force_row(pair, "Tension at the triangle, highest", "triangle_tension"),
            row("The same, of the yarn's strength", "%", _shares(pair)),
            force_row(pair, "Winding tension, highest", "winding_tension"),
            force_row(pair, "Traveller's heat, highest", "traveller_heat", "W"),
        ),
        chart=doff_chart(
            pair, "Highest tension at the triangle in each stroke", "cN", (list(peaks[0]), list(peaks[1])), index,
            wall=in_cn,
        ),
        reasons=_reasons(ground, pair, mass),
        notes=notes_of(pair),
    )  # fmt: skip


def _limit(ground: Ground) -> float | None:
    share = ground.mill.limits.get("strength_share")
    return None if share is None else share.value * ground.choice.yarn.strength


def _thrown(ground: Ground, mass: float) -> float:
    return thrown_outward(mass, ground.choice.setting.main_speed, ground.choice.frame.ring.diameter)


def _shares(pair: Pair) -> tuple[float, float]:
    strength = pair.ground.choice.yarn.strength
    one, other = (most(doff.forces.triangle_tension) / strength for doff in pair.doffs)
    return one, other


def _reasons(ground: Ground, pair: Pair, mass: float) -> tuple[str, str, str]:
    tried = pair.doffs[1]
    one, other = (most(doff.forces.largest_radius) for doff in pair.doffs)
    peaks = [most(doff.forces.triangle_tension) for doff in pair.doffs]
    heat = [most(doff.forces.traveller_heat) for doff in pair.doffs]
    share = _shares(pair)[1]
    lost = _lost(tried)
    second = (
        lost
        or f"That pull holds the balloon in: from the one as set to this its radius {changed(one, other, 'mm', 0.1)}."
    )
    return (
        (
            f"At {told(ground.choice.setting.main_speed, 'rpm')} a traveller of {told(mass, 'mg')} is thrown outward "
            f"with {told(_thrown(ground, mass), 'N')}, and the yarn must drag it against its friction on the ring."
        ),
        second,
        (
            f"The price of mass is tension and heat: {'where it holds, ' if lost else ''}the highest tension at the "
            f"triangle {changed(peaks[0], peaks[1], 'cN')}, {told(share, '%')} of the yarn's strength, and the "
            f"traveller's heat {changed(heat[0], heat[1], 'W')}."
        ),
    )


def _lost(doff: Doff) -> str:
    """Say where a traveller does not hold the balloon, or nothing."""
    bad = doff.forces.outcome != Outcome.STEADY
    if not bad.any():
        return ""
    outcome = Outcome(int(doff.forces.outcome[np.flatnonzero(bad)[0]]))
    why = outcome.sentence.removeprefix("No steady balloon: ")
    return f"At {int(bad.sum())} of {bad.size} places of the doff it is too light to hold the balloon: {why}"


LESSON = Lesson(
    key="traveller",
    name="Heavy and light traveller",
    question="Why not a lighter traveller?",
    think="Same yarn, ring and speed; only the traveller's mass differs. Before you move it: which way does the "
    "balloon go, and which way the tension?",
    control=Control(
        name="Traveller mass", quantity="mass", unit="mg", span=_span,
        start=lambda ground: round(0.8 * 1e6 * ground.choice.traveller.mass / 0.5) * 0.5e-6,
        why="The traveller number is its mass in mg.",
    ),
    answer=_answer,
    sources=lambda ground: (
        inputs_of(ground),
        source("common-practice", "The limit on tension as a share of strength, where the mill states no other"),
    ),
    left_out="Wear, and the ring friction that changes with force and heat, are not computed: one friction holds for "
    "all.",
    works=("changing travellers", "all work past the guards"),
)  # fmt: skip
