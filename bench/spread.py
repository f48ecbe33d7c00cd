"""Time 4 000 sampled doffs of 200 places, and set them against a loop over scipy's boundary-value solver.

Run: python bench/spread.py. Wall time counts on an idle machine; processor time is printed beside it.
"""

from __future__ import annotations

import time

import numpy as np
from scipy.integrate import solve_bvp

from ringwright.mill import demo_mill_path, read_mill
from ringwright.physics.position import Positions, solve
from ringwright.setting.choice import Trial, choose
from ringwright.setting.places import Sampling, lay_out
from ringwright.setting.problem import doff_problem, positions
from ringwright.uncertainty.inputs import inputs_of
from ringwright.uncertainty.ranking import design
from ringwright.uncertainty.spread import sampled_results

MILL = read_mill(demo_mill_path())
BUDGET_S = 30.0


def ours() -> tuple[int, float, float]:
    """Give how many doffs were solved, and the wall and processor seconds."""
    choice = choose(MILL, "F1", "AV30K")
    inputs = inputs_of(choice)
    plan = design(len(inputs), 4000)
    drawn = np.stack([one.at(plan.points[:, i]) for i, one in enumerate(inputs)], axis=1)[:4000]
    wall, used = time.perf_counter(), time.process_time()
    sampled_results(choice, inputs, drawn)
    return len(drawn), time.perf_counter() - wall, time.process_time() - used


def by_solve_bvp(p: Positions, i: int) -> tuple[float, float]:
    """Give the guide tension [N] and angle [rad] of a free balloon; nan without one.

    Six equations, length unknown, friction balance at the end.
    """
    a, w, m = p.ring_diameter[i] / 2, p.traveller_speed[i], p.yarn_linear_density[i]
    diameter = np.sqrt(4 * m / (np.pi * p.yarn_density[i]))
    drag = 0.5 * p.air_density[i] * p.drag_coefficient[i] * diameter * a / m
    height, mass, c = p.balloon_height[i] / a, p.traveller_mass[i] / (m * a), p.winding_diameter[i] / p.ring_diameter[i]
    ring, yarn = p.ring_traveller_friction[i], p.yarn_traveller_friction[i]

    def slope(s: np.ndarray, y: np.ndarray, length: np.ndarray) -> np.ndarray:  # noqa: ARG001
        x, q = y[:3], y[3:]
        t = q / np.sqrt(np.sum(q * q, axis=0))
        v = np.stack([-x[1], x[0], np.zeros_like(x[0])])
        across = v - np.sum(v * t, axis=0) * t
        size = np.sqrt(np.sum(across**2, axis=0))
        pull = drag * size * across - np.stack([x[0], x[1], np.zeros_like(x[0])])
        return length[0] * np.concatenate([t, pull])

    def ends(start: np.ndarray, end: np.ndarray, length: np.ndarray) -> np.ndarray:  # noqa: ARG001
        q = end[3:]  # the traveller stands at azimuth 0, so q_r = q_x and q_t = q_y
        tension, cosine = np.sqrt(q @ q), np.sqrt(1 - c * c)
        wrap = np.arccos(np.clip((-q[0] * cosine + q[1] * c) / tension, -1, 1))
        winding = tension * np.exp(yarn * wrap)
        normal = np.hypot(mass - q[0] - winding * cosine, q[2])
        balance = (winding * c - q[1] - ring * normal) / mass
        return np.array([*start[:3], end[0] - 1, end[1], end[2] - height, balance])

    s = np.linspace(0, 1, 40)
    guess = np.stack([np.sin(2.2 * s), -0.1 * s * (1 - s), height * s, 4 * np.cos(2.2 * s), 0.5 * s, np.full(40, 12.0)])
    done = solve_bvp(slope, ends, s, guess, p=[1.05 * height], tol=1e-6, max_nodes=4000)
    if not done.success:
        return float("nan"), float("nan")
    pull = done.sol(0.0)[3:]
    size = float(np.linalg.norm(pull))
    return size * m * (w * a) ** 2, float(np.arccos(pull[2] / size))


def theirs(count: int) -> tuple[float, float, int]:
    """Give a loop's processor seconds a place, its largest difference from ours, and how many failed."""
    choice = choose(MILL, "F1", "AV30K", Trial(control_ring=False))
    given = positions(choice, lay_out(doff_problem(choice), Sampling(strokes=8, places=25)))
    given = given.take(np.linspace(0, len(given) - 1, count).astype(int))
    solved = solve(given)
    used = time.process_time()
    found = np.array([by_solve_bvp(given, i)[0] for i in range(count)])
    used = time.process_time() - used
    off = np.abs(found / solved.guide_tension - 1)
    alike = off < 1e-3
    return used / count, float(np.nanmax(off[alike])) if alike.any() else float("nan"), int(count - alike.sum())


def main() -> None:
    """Print what was measured."""
    doffs, wall, used = ours()
    print(
        f"{doffs} doffs of 200 places: {wall:.1f} s wall, {used:.1f} s processor (budget {BUDGET_S:.0f} s on two cores)"
    )
    each, off, failed = theirs(24)
    print(f"solve_bvp in a loop: {1e3 * each:.1f} ms a place, agreeing within {off:.0e} where it found the balloon;")
    print(f"  {failed} of 24 places it missed or found another balloon (its guess was a plain sine)")
    ratio = each * doffs * 200 / used
    print(f"a place of ours takes {1e6 * used / doffs / 200:.0f} us of processor: {ratio:.0f} times less")


if __name__ == "__main__":
    main()
