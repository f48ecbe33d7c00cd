"""Time and memory of spinning positions, against scipy.integrate.solve_bvp in the same run; prints, writes nothing.

Run from the project's folder as ``python bench/positions.py``; bench/README.md says how to read the table.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from dataclasses import fields, replace
from statistics import median

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_bvp

from ringwright.physics import Outcome, Positions, kernel, solve

Array = NDArray[np.float64]
REPEATS = 5
BATCH = 10_000
DOFF = 2_000
PEER = 40
LINES = 100_000
WANTED = 1e-8
EXACT = 1e-10
"""The finest tolerance at which scipy converges on all of these."""


def random_positions(count: int, seed: int = 1) -> Positions:
    """Draw plausible positions without control ring: 5 to 60 tex, 36 to 60 mm rings, 6,000 to 25,000 rpm."""
    draw = np.random.default_rng(seed)
    ring = draw.uniform(0.036, 0.060, count)
    nought = np.zeros(count)
    tex, height = draw.uniform(5, 60, count), draw.uniform(0.1, 0.3, count)
    return Positions(
        yarn_linear_density=tex * 1e-6,
        ring_diameter=ring,
        balloon_height=height,
        traveller_speed=draw.uniform(6000, 25000, count) * 2 * np.pi / 60,
        traveller_mass=draw.uniform(0.5, 1.5, count) * 12e-3 * height * tex * 1e-6 / 0.02 * 20,
        winding_diameter=draw.uniform(0.4, 0.92, count) * ring,
        ring_traveller_friction=draw.uniform(0.08, 0.13, count),
        yarn_traveller_friction=np.full(count, 0.3),
        fixed_tension_ratio=nought,
        drag_coefficient=np.ones(count),
        air_density=np.full(count, 1.2),
        yarn_density=np.full(count, 900.0),
        feed_speed=nought,
        gravity=nought,
        control_ring_diameter=nought,
        control_ring_depth=nought,
        control_ring_friction=nought,
        gauge=np.full(count, np.nan),
    )


def spread(count: int, **columns: Array) -> Positions:
    """Repeat one plain position (20 tex, 40 mm ring, 160 mm, 16,000 rpm, 50 mg) with some columns of its own."""
    one = random_positions(1)
    plain = {
        "yarn_linear_density": 20e-6,
        "ring_diameter": 0.040,
        "balloon_height": 0.160,
        "traveller_speed": 16000 * 2 * np.pi / 60,
        "traveller_mass": 50e-6,
        "winding_diameter": 0.036,
        "ring_traveller_friction": 0.1,
    }
    values = {f.name: np.full(count, plain.get(f.name, getattr(one, f.name)[0])) for f in fields(one)}
    return Positions(**{**values, **columns})


def doff_like(count: int = DOFF) -> Positions:
    """Twenty chases of a cop: the winding diameter runs from tube to cop and back, the height and speed drift."""
    chase = np.abs(2 * ((np.arange(count) / (count / 20)) % 1) - 1)
    share = np.linspace(0, 1, count)
    return spread(
        count,
        winding_diameter=0.019 + 0.017 * chase,
        balloon_height=0.165 + 0.03 * chase - 0.03 * share,
        traveller_speed=(13000 + 3000 * np.sin(np.pi * share)) * 2 * np.pi / 60,
    )


def seconds(action: Callable[[], object], repeats: int = REPEATS) -> float:
    """Time an action; the median of some repeats after one that does not count."""
    action()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return median(times)


# ---- the peer ---------------------------------------------------------------------------------------------------


class Peer:
    """One position as a boundary-value problem in depth for scipy: x, y, q_x, q_y, q_z, dimensionless."""

    def __init__(self, p: Positions, i: int) -> None:
        a, m, w = p.ring_diameter[i] / 2, p.yarn_linear_density[i], p.traveller_speed[i]
        thickness = np.sqrt(4 * m / (np.pi * p.yarn_density[i]))
        self.force = m * (w * a) ** 2
        self.height = p.balloon_height[i] / a
        self.drag = 0.5 * p.air_density[i] * p.drag_coefficient[i] * thickness * a / m
        self.mass = p.traveller_mass[i] / (m * a)
        self.sine = p.winding_diameter[i] / p.ring_diameter[i]
        self.ring_friction, self.yarn_friction = p.ring_traveller_friction[i], p.yarn_traveller_friction[i]

    def slope(self, _: Array, v: Array) -> Array:
        """Give d/dz at all nodes."""
        x, y, q = v[0], v[1], v[2:]
        size = np.sqrt(np.sum(q * q, axis=0))
        t = q / size
        along = x * t[1] - y * t[0]
        across = np.stack([-y, x, 0 * x]) - along * t
        push = self.drag * np.sqrt(np.sum(across * across, axis=0)) * across
        push[0] -= x
        push[1] -= y
        return np.concatenate([q[:2] / q[2], push * size / q[2]])

    def ends(self, guide: Array, ring: Array) -> Array:
        """Give what the boundary conditions miss: guide on the axis, azimuth, ring radius, traveller's friction."""
        x, y, q = ring[0], ring[1], ring[2:]
        r = np.hypot(x, y)
        q_r, q_t, q_z = (x * q[0] + y * q[1]) / r, (x * q[1] - y * q[0]) / r, q[2]
        size, cosine = np.sqrt(q @ q), np.sqrt(1 - self.sine**2)
        wrap = np.arccos(np.clip((q_t * self.sine - q_r * cosine) / size, -1, 1))
        wound = size * np.exp(self.yarn_friction * wrap)
        normal = np.hypot(self.mass - q_r - wound * cosine, q_z)
        missed = wound * self.sine - q_t - self.ring_friction * normal
        return np.array([guide[0], guide[1], guide[3], r - 1, missed / self.mass])

    def solve(self, tolerance: float, guess: tuple[Array, Array]) -> tuple[float, tuple[Array, Array]]:
        """Give the guide tension and the mesh; nan where scipy does not converge."""
        with warnings.catch_warnings(), np.errstate(all="ignore"):
            warnings.simplefilter("ignore")
            found = solve_bvp(self.slope, self.ends, *guess, tol=tolerance, bc_tol=tolerance, max_nodes=50_000)
        tension = float(np.sqrt(np.sum(found.y[2:, 0] ** 2))) if found.status == 0 else np.nan
        return tension, (found.x, found.y)


def good_guess(peer: Peer, tension: float, angle: float) -> tuple[Array, Array]:
    """Give scipy 21 nodes of the balloon one percent tenser at the guide than the answer: nearly the answer itself."""
    state = np.zeros((6, 1))
    size = 1.01 * tension / peer.force
    state[2], state[4] = size * np.sin(angle), size * np.cos(angle)
    parameters = np.array([[peer.drag], [0.0], [0.0], [peer.height]])
    nodes = kernel.span(parameters, state, 20, 0, keep_nodes=True)[1]
    assert nodes is not None  # noqa: S101 - asked for above
    return np.linspace(0, peer.height, 21), nodes[:, :5, 0].T.copy()


def measure_peer() -> tuple[float, float, float, float]:
    """Time scipy at the loosest tolerance that brings its median error below the wanted one.

    Gives seconds for a position, its tolerance, its median error, and ours on the same positions, all relative in the
    guide tension against scipy at its finest.
    """
    p = random_positions(3 * PEER, seed=2)
    steady = np.flatnonzero(solve(p).outcome == Outcome.STEADY)[:PEER]
    p = p.take(steady)
    ours = solve(p)
    peers = [Peer(p, i) for i in range(len(p))]
    guesses = [good_guess(peer, ours.guide_tension[i], ours.guide_angle[i]) for i, peer in enumerate(peers)]
    exact = np.array([peer.solve(EXACT, guess)[0] for peer, guess in zip(peers, guesses, strict=True)])
    assert np.isfinite(exact).mean() > 0.9  # noqa: S101 - else there is nothing to compare with
    mine = np.nanmedian(np.abs(ours.guide_tension / [peer.force for peer in peers] / exact - 1))
    for tolerance in 10.0 ** -np.arange(3, 11):
        times, tensions = [], []
        for peer, guess in zip(peers, guesses, strict=True):
            start = time.perf_counter()
            tensions.append(peer.solve(tolerance, guess)[0])
            times.append(time.perf_counter() - start)
        error = float(np.nanmedian(np.abs(np.array(tensions) / exact - 1)))
        if error < WANTED:
            break
    return median(times), tolerance, error, float(mine)


# ---- whole processes --------------------------------------------------------------------------------------------

PLAIN = {
    "yarn_tex": 20,
    "ring_diameter_mm": 40,
    "balloon_height_mm": 160,
    "traveller_speed_rpm": 16000,
    "traveller_mass_mg": 50,
    "winding_diameter_mm": 36,
}
COMMAND = [sys.executable, "-m", "ringwright", "position"]


def first_answer() -> tuple[float, float]:
    """Time the command on one file, in a fresh process: as it is, and as on the very first run, with no bytecode."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "position.json")  # noqa: PTH118
        with open(path, "w", encoding="utf-8") as file:  # noqa: PTH123
            json.dump(PLAIN, file)

        def once(**environment: str) -> float:
            start = time.perf_counter()
            subprocess.run(  # noqa: S603
                [*COMMAND, path], check=True, stdout=subprocess.DEVNULL, env={**os.environ, **environment}
            )
            return time.perf_counter() - start

        once()
        usual = median(once() for _ in range(REPEATS))
        bare = {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONPYCACHEPREFIX": os.path.join(folder, "none")}  # noqa: PTH118
        return usual, median(once(**bare) for _ in range(3))


def stream(*options: str) -> tuple[float, float]:
    """Time a stream of distinct lines through the command; gives seconds and the peak memory in megabytes."""
    with tempfile.TemporaryFile() as lines, tempfile.TemporaryFile() as answers:
        for i in range(LINES):
            keys = {**PLAIN, "traveller_mass_mg": 15 + i % 997 * 0.1, "winding_diameter_mm": 18 + i % 181 * 0.1}
            lines.write(json.dumps(keys).encode() + b"\n")
        lines.seek(0)
        start = time.perf_counter()
        subprocess.run([*COMMAND, "-", *options], stdin=lines, stdout=answers, check=True)  # noqa: S603
        took = time.perf_counter() - start
        answers.seek(0)
        assert sum(1 for _ in answers) == LINES  # noqa: S101 - a benchmark that loses lines measures nothing
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    return took, peak / (1e6 if sys.platform == "darwin" else 1e3)


# ---- the table --------------------------------------------------------------------------------------------------


def row(name: str, value: str, ratio: str = "") -> None:
    """Print one line of the table."""
    print(f"{name:<64}{value:>14}{ratio:>14}")


def timed(name: str, positions: Positions, peer: float, *, sweep: bool = False) -> None:
    """Time a batch and print it with its ratio to the peer."""
    took = seconds(lambda: solve(positions, sweep=sweep)) / len(positions)
    row(name, f"{1e6 * took:.1f} us", f"{peer / took:,.0f} x")


def main() -> None:
    """Run everything and print the table."""
    print(f"Integration by {kernel.ROUTE}; {os.cpu_count()} processors; NumPy {np.__version__}\n")
    peer, tolerance, error, mine = measure_peer()
    row("", "a position", "faster")
    row(f"scipy solve_bvp, tol {tolerance:.0e}, given nearly the answer", f"{1e6 * peer:,.0f} us", "1 x")
    batch = random_positions(BATCH)
    outcomes = solve(batch).outcome
    steady = batch.take(np.flatnonzero(outcomes == Outcome.STEADY))
    timed(
        f"random batch from scratch, {BATCH:,}, one in {BATCH / max(1, (outcomes > 0).sum()):.0f} refused", batch, peer
    )
    timed(f"random batch from scratch, the steady {len(steady):,} of it", steady, peer)
    timed("random batch from scratch, 100", batch.take(slice(100)), peer)
    timed("one position alone", batch.take(slice(1)), peer)
    ringed = replace(
        steady,
        control_ring_diameter=1.1 * steady.ring_diameter,
        control_ring_depth=0.55 * steady.balloon_height,
        control_ring_friction=np.full(len(steady), 0.2),
    )
    timed("the same with a control ring", ringed, peer)
    swept = spread(BATCH, traveller_mass=np.linspace(120e-6, 30e-6, BATCH))
    timed(f"sweep of the traveller, {BATCH:,}", swept, peer, sweep=True)
    doff = doff_like()
    timed(f"doff-like grid, {DOFF:,}, as a sweep", doff, peer, sweep=True)
    row("  the whole of it (wanted: under 100 ms)", f"{1e3 * seconds(lambda: solve(doff, sweep=True)):.1f} ms")
    print(f"\nMedian error of the guide tension against solve_bvp at {EXACT:.0e}: scipy {error:.1e}, ours {mine:.1e}\n")
    usual, bare = first_answer()
    row("first answer of a fresh process (wanted: under 2 s)", f"{usual:.2f} s")
    row("  the same with no bytecode yet, as on a very first run", f"{bare:.2f} s")
    took, memory = stream()
    row(f"stream of {LINES:,} lines", f"{took:.1f} s")
    row("  its peak memory (wanted: under 500 MB)", f"{memory:.0f} MB")
    took, memory = stream("--limits")
    row(f"stream of {LINES:,} lines with --limits", f"{took:.1f} s")
    row("  peak memory of all of these", f"{memory:.0f} MB")


if __name__ == "__main__":
    main()
