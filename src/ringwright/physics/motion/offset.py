"""What a ring, guide or control ring off the spindle's axis does to tension and yarn flow, once in each turn."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ringwright.physics.motion.rest import PIECES, Rest, rests
from ringwright.physics.motion.system import OFFSETS, Closed, closed, ends_of
from ringwright.physics.motion.waves import Complex
from ringwright.physics.position import Positions, units_of
from ringwright.physics.real import Array

__all__ = ["OffsetResponse", "PartResponse", "offset_response"]

Offset = Complex | complex
"""One offset x + iy [m], or many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartResponse:
    """Complex amplitudes for one part off centre by 1 m along the room's x axis, each (n,); nan if not steady.

    A tension moves as the real part of amplitude x offset x exp(i a), a being the traveller's angle from the x axis,
    counted the way the traveller turns.  So it is largest where a = -arg(amplitude).
    """

    guide_tension: Complex
    """[N/m]"""
    ring_tension: Complex
    """[N/m]"""
    winding_tension: Complex
    """[N/m]"""
    yarn_flow: Complex
    """Of the yarn through the traveller, [1/s], which is (m/s)/m."""
    control_ring_bend: Complex
    """[rad/m]; nought where no control ring presses."""
    still_guide_tension: Complex
    """The quasi-static estimate of guide tension [N/m]: the steady balance of each moment's geometry."""
    still_ring_tension: Complex
    """[N/m]"""
    still_winding_tension: Complex
    """[N/m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetResponse:
    """Linear response of n positions to parts off the spindle's axis, once per turn of the traveller.

    ``valid_below`` is the offset [m] of that part alone at which the linear result says that the yarn's flow through
    the traveller comes to rest once in each turn; beyond it friction changes its sense there, and the linear amplitudes
    are no answer.  ``pressed_below`` is the offset at which the yarn would leave the control ring once in each turn.
    """

    ring: PartResponse
    guide: PartResponse
    control_ring: PartResponse
    spindle: PartResponse
    """The spindle itself off centre; minus the sum of the three others, which a test uses."""
    delivery_speed: Array
    """[m/s] (n,); nan where it was not given."""
    bend: Array
    """Angle of the yarn on the control ring at rest, rad (n,); nought where it does not press."""
    steady: NDArray[np.bool_]
    """Whether the position has a steady balloon; nothing else has a response."""

    def valid_below(self, part: str) -> Array:
        """Give the offset [m] of ``part`` up to which the yarn's flow does not stop, (n,)."""
        flow: Array = np.abs(getattr(self, part).yarn_flow)
        with np.errstate(divide="ignore"):
            return self.delivery_speed / flow

    def pressed_below(self, part: str) -> Array:
        """Give the offset [m] of ``part`` up to which the yarn stays on the control ring, (n,); inf without one."""
        turned: Array = np.abs(getattr(self, part).control_ring_bend)
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(self.bend > 0.0, self.bend / turned, np.where(self.steady, np.inf, np.nan))

    def together(self, quantity: str, *, ring: Offset, guide: Offset, control_ring: Offset) -> Complex:
        """Give the amplitude of a quantity (a name of ``PartResponse``) for offsets of all parts at once.

        Offsets are x + iy [m], broadcast against (n,); x to y is the way the traveller turns.
        """
        parts = {"ring": ring, "guide": guide, "control_ring": control_ring}
        total: Complex = sum(
            np.conj(np.asarray(offset)) * getattr(getattr(self, name), quantity) for name, offset in parts.items()
        )
        return total

    def reversal(self, *, ring: Offset, guide: Offset, control_ring: Offset) -> Array:
        """Give the swing of the yarn's flow over the delivery speed for offsets, (n,): beyond 1 it stops at times."""
        swing: Array = np.abs(self.together("yarn_flow", ring=ring, guide=guide, control_ring=control_ring))
        return swing / self.delivery_speed


def offset_response(
    positions: Positions,
    delivery_speed: Array | float | None = None,
    *,
    axial_stiffness: Array | float = np.inf,
    pieces: int = PIECES,
) -> OffsetResponse:
    """Work out the linear response of n positions to offsets of ring, guide and control ring.

    ``delivery_speed`` [m/s] (n,) or one for all, if it is not the positions' feed speed; ``axial_stiffness`` EA [N] of
    the balloon's yarn (inf: it does not stretch).  The spindle's speed and the delivery are steady; the air is at rest.
    Derived in docs/explanation/off-centre.md.
    """
    count = len(positions)
    speed = positions.feed_speed if delivery_speed is None else np.broadcast_to(delivery_speed, count).astype(float)
    stiffness = np.broadcast_to(np.asarray(axial_stiffness, dtype=float), count)
    names = [field.name for field in fields(PartResponse)]
    parts = {part: {name: np.full(count, np.nan, dtype=complex) for name in names} for part in OFFSETS}
    bend, steady = np.full(count, np.nan), np.zeros(count, dtype=bool)
    a, force = units_of(positions)
    for index, rest in rests(positions, pieces):
        bend[index], steady[index] = rest.bend, True
        units = {"tension": force[index] / a[index], "flow": positions.traveller_speed[index], "bend": 1.0 / a[index]}
        for name, values in _amplitudes(rest, force[index] / stiffness[index], units).items():
            for at, part in enumerate(OFFSETS):
                parts[part][name][index] = values[:, at]
    return OffsetResponse(
        **{part: PartResponse(**columns) for part, columns in parts.items()},
        delivery_speed=np.where(speed > 0.0, speed, np.nan),
        bend=bend,
        steady=steady,
    )


def _amplitudes(rest: Rest, stretch: Array, units: dict[str, Array]) -> dict[str, Complex]:
    """Give every quantity of ``PartResponse`` (n, 4) for unit offsets, in SI."""
    ends = ends_of(rest, stretch)
    count = len(rest.cases)
    once = closed(ends, np.full(count, 1j))
    x = np.linalg.solve(once.matrix, once.right)
    moving = once.read @ x + once.read_offset
    still = _still(closed(ends_of(rest), np.zeros(count, dtype=complex)))
    length: Complex = x[:, -2]
    bend: Complex = x[:, 11] if rest.pressed else np.zeros_like(length)
    by_tension = units["tension"][:, None]
    flow: Complex = -1j * units["flow"][:, None] * length
    bend = units["bend"][:, None] * bend
    return {
        "guide_tension": moving[:, 0] * by_tension,
        "ring_tension": moving[:, 1] * by_tension,
        "winding_tension": moving[:, 2] * by_tension,
        "yarn_flow": flow,
        "control_ring_bend": bend,
        "still_guide_tension": still[:, 0] * by_tension,
        "still_ring_tension": still[:, 1] * by_tension,
        "still_winding_tension": still[:, 2] * by_tension,
    }


def _still(system: Closed) -> Complex:
    """Solve the quasi-static problem: no rates, the traveller where it is, as much yarn as the balance asks for."""
    size = system.matrix.shape[1]
    kept = [row for row in range(size) if row != size - 2]
    columns = slice(0, size - 1)
    x = np.linalg.solve(system.matrix[:, kept, columns], system.right[:, kept])
    answer: Complex = system.read[:, :, columns] @ x + system.read_offset
    return answer
