"""Run the spinning balloon through time, from its steady state, with parts off the spindle's axis."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from math import pi

import numpy as np
from scipy.interpolate import make_interp_spline

from ringwright.physics.cases import Cases
from ringwright.physics.motion.moment import SEEN
from ringwright.physics.motion.nodes import nodes
from ringwright.physics.motion.rest import Rest, rests
from ringwright.physics.motion.stepping import Method, State, march
from ringwright.physics.motion.strand import Strand
from ringwright.physics.position import Positions, units_of
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal

__all__ = ["Manner", "Motion", "Offsets", "motion_in_time", "start_of"]

TURN = 2.0 * pi
MEND = "Try a heavier traveller; ringwright position says which limit stopped it."


@dataclass(frozen=True, slots=True, kw_only=True)
class Offsets:
    """How far each part stands from the spindle's axis, x + iy [m]; x to y is the way the traveller turns."""

    ring: complex = 0j
    guide: complex = 0j
    control_ring: complex = 0j


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """How the motion is worked out."""

    pieces: int = 16
    """Of each span's grid."""
    steps_per_turn: int = 128
    ramp_turns: float = 8.0
    """Turns over which the parts move out from the axis."""
    damping: float = 0.6
    """Spectral radius of the method for the quickest motions of the grid, 0 to 1."""
    axial_stiffness: float = np.inf
    """EA of the balloon's yarn [N]; inf: it does not stretch."""
    softness: float = 0.05
    """Share of the delivery over which the yarn's friction on the traveller passes from one sense to the other."""
    reverses: bool = True
    """False keeps the friction's sense even where the flow reverses: no physics, but what the linear answer assumes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """What k steps showed, in SI; one traveller's turn is ``steps_per_turn`` of them."""

    turns: Array
    """Turns of the traveller since the start, (k,)."""
    guide_tension: Array
    ring_tension: Array
    winding_tension: Array
    yarn_flow: Array
    """Of the yarn through the traveller towards the cop [m/s]."""
    yarn_kept: Array
    """Yarn in the balloon by what was fed less what the cop took [m]."""
    yarn_seen: Array
    """The same by the length of the balloon's shape [m]."""
    traveller_angle: Array
    """How far the traveller is ahead of steady turning [rad]."""
    ring_force: Array
    control_ring_bend: Array
    """Angle of the yarn on the control ring [rad]; nought where it does not press."""
    stopped: str
    """Why the run ended early, in words; empty if it did not."""

    def last(self, turns: float) -> Motion:
        """Keep the last turns only."""
        kept = self.turns > self.turns[-1] - turns + 0.5 * self.turns[0]
        arrays = {f.name: getattr(self, f.name)[kept] for f in fields(self) if f.name != "stopped"}
        return Motion(**arrays, stopped=self.stopped)

    @property
    def imbalance(self) -> float:
        """Give the largest difference between yarn kept and yarn seen, as a share of it."""
        return float(np.max(np.abs(self.yarn_seen / self.yarn_kept - 1.0)))

    def swing(self, quantity: str) -> complex:
        """Give the once-per-turn amplitude of a quantity over the last whole turn, as ``PartResponse`` counts it."""
        one = self.last(1.0)
        return complex(2.0 * np.mean(getattr(one, quantity) * np.exp(-1j * TURN * one.turns)))


def start_of(rest: Rest, case: int = 0, *, pieces: int = 16, stretch: float = 0.0) -> tuple[Strand, State]:
    """Put one of the steady balloons on a grid, at rest and on centre; dimensionless."""
    cases = Cases(**{field.name: getattr(rest.cases, field.name)[case] for field in fields(Cases)})
    grid = nodes(pieces)
    places, tensions = [], []
    for span in rest.spans:
        along = span.length[case]
        width = along[-1] - along[0]
        shape = make_interp_spline(along, span.place[case], k=7)
        force = make_interp_spline(along, span.force[case], k=7)
        places.append(shape(along[0] + width * grid.places)[1:-1].ravel())
        pull = force(along[0] + width * grid.tensions)
        tensions.append(np.linalg.norm(pull, axis=-1) + cases.feed**2)
    contact, bend = [], []
    if rest.pressed:
        touch = rest.spans[0].place[case, -1]
        contact, bend = [np.arctan2(touch[1], touch[0]), rest.spans[0].length[case, -1]], [rest.bend[case]]
    z = np.concatenate([*places, [0.0, *contact], *tensions, bend])
    strand = Strand(
        cases=cases,
        pressed=rest.pressed,
        pieces=pieces,
        stretch=stretch,
        rest_tension=np.concatenate(tensions),
        rest_length=float(rest.spans[-1].length[case, -1]),
        soft=0.0,
        offsets=np.zeros(3, dtype=complex),
        ramp=0.0,
    )
    still = np.zeros_like(z)
    return strand, State(z=z, rate=still, change=still.copy(), smoothed=still.copy(), time=0.0)


def motion_in_time(
    position: Positions,
    delivery_speed: float,
    turns: float,
    *,
    offsets: Offsets | None = None,
    manner: Manner | None = None,
) -> Motion:
    """Run one position (length 1) for some turns of the traveller; the parts move out from the axis at the start.

    A position without a steady balloon, or a delivery of nought, is refused.  A run that cannot go on gives what it has
    and says why.  Derived in docs/explanation/off-centre.md.
    """
    how, apart = manner or Manner(), offsets or Offsets()
    if not delivery_speed > 0.0:
        raise Refusal(Fault(where="delivery_speed", got=f"{delivery_speed:g} m/s", wants="above 0 m/s"))
    given = replace(position, feed_speed=np.full(1, float(delivery_speed)))
    found = rests(given)
    if not found:
        raise Refusal(Fault(where="position", got="one without a steady balloon", wants="steady", mend=MEND))
    a, force = (float(unit[0]) for unit in units_of(given))
    strand, state = start_of(found[0][1], pieces=how.pieces, stretch=force / how.axial_stiffness)
    strand = replace(
        strand,
        soft=how.softness * float(strand.cases.feed) if how.reverses else 0.0,
        offsets=np.array([apart.ring, apart.guide, apart.control_ring], dtype=np.complex128) / a,
        ramp=how.ramp_turns * TURN,
    )
    method = Method.of(TURN / how.steps_per_turn, how.damping)
    seen, stopped = _run(strand, method, state, round(turns * how.steps_per_turn), how.steps_per_turn)
    scale = {"tension": force, "length": a, "flow": a * float(given.traveller_speed[0])}
    return _in_si(seen, scale, how.steps_per_turn, stopped)


def _run(strand: Strand, method: Method, state: State, steps: int, turn: int) -> tuple[Array, str]:
    """March turn by turn, and stop where the model ends."""
    bend, angle = SEEN.index("bend"), SEEN.index("angle")
    rows: list[Array] = []
    while steps:
        wanted = min(turn, steps)
        seen = march(strand, method, state, wanted)
        rows.append(seen)
        steps -= wanted
        if strand.pressed and np.any(seen[:, bend] <= 0.0):
            last = int(np.argmax(seen[:, bend] <= 0.0))
            rows[-1] = seen[:last]
            return np.concatenate(rows), "The yarn left the control ring; what follows is outside the model."
        if np.any(np.diff(seen[:, angle]) <= -method.step):
            return np.concatenate(rows), "The traveller came to rest on the ring; what follows is outside the model."
        if len(seen) < wanted:
            return np.concatenate(rows), "A step did not settle; shorter steps may go on."
    return np.concatenate(rows), ""


def _in_si(seen: Array, scale: dict[str, float], steps_per_turn: int, stopped: str) -> Motion:
    column = {name: seen[:, at] for at, name in enumerate(SEEN)}
    return Motion(
        turns=(np.arange(len(seen)) + 1.0) / steps_per_turn,
        guide_tension=column["guide_tension"] * scale["tension"],
        ring_tension=column["ring_tension"] * scale["tension"],
        winding_tension=column["winding_tension"] * scale["tension"],
        yarn_flow=column["flow"] * scale["flow"],
        yarn_kept=column["length"] * scale["length"],
        yarn_seen=column["content"] * scale["length"],
        traveller_angle=column["angle"],
        ring_force=column["normal"] * scale["tension"],
        control_ring_bend=column["bend"],
        stopped=stopped,
    )
