"""Cost of the balloon's motion in time, against scipy.integrate.solve_ivp on the same equations; it only prints.

Run from the project's folder as ``python bench/motion.py``; bench/README.md says how to read the table.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from math import pi

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from ringwright.physics import Positions
from ringwright.physics.kernel import motion as kernel
from ringwright.physics.motion import Manner, motion_in_time
from ringwright.physics.motion.moment import lacking
from ringwright.physics.motion.rest import rests
from ringwright.physics.motion.running import start_of
from ringwright.physics.motion.stepping import Method, State, jacobian, march
from ringwright.physics.motion.strand import Strand, sizes
from ringwright.physics.position import units_of

Array = NDArray[np.float64]
Slope = Callable[[float, Array], Array]
Look = Callable[[Array, float], Array]
TURN = 2.0 * pi
TURNS = 4
STIFFNESS = 80.0
"""EA of the yarn [N], assumed: the tensions then follow from the shape, which solve_ivp needs."""
OFFSET = 0.1e-3
STEPS = 128
FINE = 2048
ROUNDS = 3


def position(*, control_ring: bool) -> Positions:
    """Give 20 tex on a 40 mm ring at 16,000 rpm with 40 mg, at full cop, delivered at 0.31 m/s."""
    values = {
        "yarn_linear_density": 20e-6,
        "ring_diameter": 0.040,
        "balloon_height": 0.220 if control_ring else 0.120,
        "traveller_speed": 16000 * 2 * pi / 60,
        "traveller_mass": 40e-6,
        "winding_diameter": 0.036,
        "ring_traveller_friction": 0.1,
        "yarn_traveller_friction": 0.3,
        "fixed_tension_ratio": 0.0,
        "drag_coefficient": 1.0,
        "air_density": 1.2,
        "yarn_density": 1 / 1.1e-3,
        "feed_speed": 0.31,
        "gravity": 0.0,
        "control_ring_diameter": 0.044 if control_ring else 0.0,
        "control_ring_depth": 0.125 if control_ring else 0.0,
        "control_ring_friction": 0.2 if control_ring else 0.0,
        "gauge": float("nan"),
    }
    return Positions(**{name: np.array([value]) for name, value in values.items()})


def set_up() -> tuple[Strand, State]:
    """Put the free balloon on a grid, with its ring moving off centre within two turns."""
    given = position(control_ring=False)
    a, force = units_of(given)
    strand, state = start_of(rests(given)[0][1], stretch=float(force[0]) / STIFFNESS)
    offsets = np.array([OFFSET / a[0], 0.0, 0.0], dtype=complex)
    soft = 0.05 * float(strand.cases.feed)
    return replace(strand, offsets=offsets, ramp=2.0 * TURN, soft=soft), state


def ours(steps: int, *, compiled: bool) -> tuple[Array, float]:
    """Run by our own steps; gives the ring tension at every 1/128 of a turn, and the seconds."""
    strand, state = set_up()
    begin = time.perf_counter()
    seen = march(strand, Method.of(TURN / steps, 0.6), state, steps * TURNS, compiled=compiled)
    return seen[steps // STEPS - 1 :: steps // STEPS, 1], time.perf_counter() - begin


def ordinary(strand: Strand, state: State) -> tuple[Slope, Look, Array]:
    """Write the same equations as y' = f(t, y): tensions from the stretch, accelerations from the mass matrix."""
    moving, count = sizes(strand)
    weight = np.linalg.inv(jacobian(strand, state, (0.0, 0.0, 1.0))[:moving, :moving])
    inner = strand.pieces - 1

    def whole(y: Array, at: float) -> tuple[Array, Array]:
        z, rate = np.zeros(count), np.zeros(count)
        z[:moving], rate[:moving] = y[:moving], y[moving:]
        z[moving:] = strand.rest_tension
        # The constraint rows say by how much each piece is longer than its tension at rest would have it.
        longer = lacking(strand, z, (rate, np.zeros(count)), at)[0][3 * inner + 1 :]
        z[moving:] += longer / strand.stretch
        return z, rate

    def slope(at: float, y: Array) -> Array:
        z, rate = whole(y, at)
        change = np.zeros(count)
        for _ in range(ROUNDS):
            change[:moving] -= weight @ lacking(strand, z, (rate, change), at)[0][:moving]
        return np.concatenate([y[moving:], change[:moving]])

    def ring_tension(y: Array, at: float) -> Array:
        z, rate = whole(y, at)
        change = np.zeros(count)
        change[:moving] = slope(at, y)[moving:]
        return np.asarray(lacking(strand, z, (rate, change), at)[1][1])

    return slope, ring_tension, np.concatenate([state.z[:moving], state.rate[:moving]])


def peer(tolerance: float) -> tuple[Array, float, int]:
    """Run by solve_ivp's Radau with the constant Jacobian that we use too; gives tension, seconds, and evaluations."""
    strand, state = set_up()
    slope, ring_tension, start = ordinary(strand, state)
    moving = start.size // 2
    at_rest = replace(strand, offsets=np.zeros(3, dtype=complex))
    still, _, _ = ordinary(at_rest, state)
    step = 1e-7
    each = np.eye(2 * moving) * step
    matrix = np.stack([(still(0.0, start + move) - still(0.0, start - move)) / (2 * step) for move in each])
    wanted = np.arange(1, STEPS * TURNS + 1) * TURN / STEPS
    begin = time.perf_counter()
    found = solve_ivp(
        slope, (0.0, TURNS * TURN), start, "Radau", wanted, rtol=tolerance, atol=tolerance * 1e-3, jac=matrix.T
    )
    seconds = time.perf_counter() - begin
    return np.array([ring_tension(y, at) for at, y in zip(found.t, found.y.T, strict=True)]), seconds, found.nfev


def cost(turns: int, *, control_ring: bool) -> float:
    """Give the milliseconds of a turn at rest, all told, of the run that a person asks for."""
    begin = time.perf_counter()
    motion_in_time(position(control_ring=control_ring), 0.31, turns, manner=Manner())
    return (time.perf_counter() - begin) / turns * 1e3


def main() -> None:
    """Print the table."""
    exact, _ = ours(FINE, compiled=kernel.available())
    size = np.max(np.abs(exact - exact[0]))
    print(
        f"free balloon, ring {OFFSET * 1e3:g} mm off, EA {STIFFNESS:g} N, {TURNS} turns; error: of ring tension's swing"
    )
    error = 0.0
    seconds = {}
    for compiled in (True, False):
        if compiled and not kernel.available():
            print("ours in C: not built here")
            continue
        seen, seconds[compiled] = ours(STEPS, compiled=compiled)
        error = float(np.max(np.abs(seen - exact)) / size)
        name = "C" if compiled else "NumPy"
        print(
            f"ours, {STEPS} steps a turn, {name:6} {seconds[compiled] / TURNS * 1e3:10.2f} ms a turn, error {error:.1e}"
        )
    for tolerance in (1e-3, 3e-4, 1e-4, 1e-5):
        seen, taken, calls = peer(tolerance)
        off = float(np.max(np.abs(seen - exact)) / size) if seen.size == exact.size else np.inf
        ratios = ", ".join(f"{taken / own:.0f} times {'C' if c else 'NumPy'}" for c, own in seconds.items())
        print(
            f"solve_ivp Radau, rtol {tolerance:g}: {taken / TURNS * 1e3:10.1f} ms a turn, {calls} calls, "
            f"error {off:.1e} ({ratios})"
        )
        if off <= error:
            break
    free, pressed = (cost(1000, control_ring=fitted) for fitted in (False, True))
    print(f"at rest, 1,000 turns: free {free:.2f} ms a turn, on a control ring {pressed:.2f} ms a turn")


if __name__ == "__main__":
    main()
