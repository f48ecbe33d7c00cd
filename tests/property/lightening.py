"""Make the traveller lighter, little by little, from one so heavy that the yarn is nearly straight.

This finds the taut branch by its definition: the first balloon met as the traveller is made lighter.  It uses
nothing of the package: its own integration along the yarn (``arc_length``), its own Newton with differences for slopes.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from tests.property.arc_length import (
    COARSE,
    Array,
    Fineness,
    Setting,
    along_the_yarn,
    at_the_guide,
    bent,
    force_at,
    traveller,
)

FREE, HELD = 3, 5
"""Number of unknowns without and with contact at the control ring."""
EPS = 1e-6
HEAVY = 20.0


@dataclass(slots=True)
class Trial:
    """Residuals (m, n) and slopes (m, m, n) of some unknowns, and what they say of the balloon."""

    residual: Array
    slope: Array
    outward: Array


def _arrival(k: Setting, state: Array, energy: Array) -> Array:
    r, q = force_at(k, state, energy)
    return np.stack([state[2] - k.height, r - 1.0, traveller(k, q).residual])


def _further(k: Setting, state: Array, energy: Array) -> Array:
    """Carry on by EPS along the yarn."""
    return along_the_yarn(k, state, energy, np.full(state.shape[1], EPS), Fineness(1, (2,)))


def free_trial(k: Setting, u: Array, how: Fineness) -> Trial:
    """Try unknowns (ln T0, guide angle, length) of free balloons."""
    n = u.shape[1]
    three = k.repeated(3)
    tension = np.exp(np.concatenate([u[0], u[0] + EPS, u[0]]))
    angle = np.concatenate([u[1], u[1], u[1] + EPS])
    end = along_the_yarn(three, at_the_guide(angle), tension, np.tile(u[2], 3), how)
    all_four = np.concatenate([end, _further(k, end[:, :n], tension[:n])], axis=1)
    out = _arrival(k.repeated(4), all_four, np.concatenate([tension, tension[:n]]))
    columns = out.reshape(3, 4, n)
    outward = traveller(k, force_at(k, end[:, :n], tension[:n])[1]).outward
    return Trial(columns[:, 0], (columns[:, 1:] - columns[:, :1]) / EPS, outward)


def _gap(k: Setting, u: Array, how: Fineness):
    """Radius less the control ring's where the yarn passes its height."""
    length = u[2] * k.control_depth / k.height
    for _ in range(4):
        state = along_the_yarn(k, at_the_guide(u[1]), np.exp(u[0]), length, how)
        length = length + np.clip((k.control_depth - state[2]) / state[5], -0.2 * length, 0.2 * length)
    return np.hypot(state[0], state[1]) - k.control_radius


def held_trial(k: Setting, u: Array, how: Fineness) -> Trial:
    """Try unknowns (ln T0, guide angle, length above, bend, length below) of balloons pressed on the control ring."""
    n = u.shape[1]
    tension = np.exp(np.concatenate([u[0], u[0] + EPS, u[0]]))
    angle = np.concatenate([u[1], u[1], u[1] + EPS])
    middle = along_the_yarn(k.repeated(3), at_the_guide(angle), tension, np.tile(u[2], 3), how)
    five = k.repeated(5)
    middle = np.concatenate([middle, _further(k, middle[:, :n], tension[:n]), middle[:, :n]], axis=1)
    above = np.concatenate([tension, tension[:n], tension[:n]])
    upper = np.stack([middle[2] - five.control_depth, np.hypot(middle[0], middle[1]) - five.control_radius])
    below, energy = bent(five, middle, above, np.concatenate([np.tile(u[3], 4), u[3] + EPS]))
    end = along_the_yarn(five, below, energy, np.tile(u[4], 5), how)
    last = _further(k, end[:, :n], energy[:n])
    end = np.concatenate([end, last], axis=1)
    energy = np.concatenate([energy, energy[:n]])
    lower = _arrival(k.repeated(6), end, energy)
    out = np.concatenate([np.concatenate([upper, upper[:, :n]], axis=1), lower]).reshape(5, 6, n)
    outward = traveller(k, force_at(k, end[:, :n], energy[:n])[1]).outward
    return Trial(out[:, 0], (out[:, 1:] - out[:, :1]) / EPS, outward)


def _moves(trial: Trial) -> tuple[Array, Array]:
    """Newton's moves and the signs of the determinants."""
    a = np.moveaxis(trial.slope, 2, 0)
    bad = np.asarray(~np.isfinite(a).all(axis=(1, 2)) | ~np.isfinite(trial.residual).all(axis=0))
    a = np.where(bad[:, None, None], np.eye(a.shape[1]), a)
    right = np.where(bad, 1.0, trial.residual).T
    sign = np.linalg.slogdet(a)[0]
    a = np.where((sign == 0)[:, None, None], np.eye(a.shape[1]), a)
    move = -np.linalg.solve(a, right[..., None])[..., 0].T
    return np.where(bad, np.nan, move), np.where(bad, np.nan, sign)


@dataclass(slots=True)
class Solved:
    """Where Newton ended."""

    u: Array
    good: NDArray[np.bool_]
    sign: Array
    outward: Array
    gap: Array


def newton(k: Setting, guess: Array, how: Fineness, *, rounds: int = 5, close: float = 1e-5) -> Solved:
    """Solve for the setting's own travellers from ``guess``; 3 unknowns mean free balloons, 5 held ones.

    A last move is made from where the residuals are ``close`` to nought; it about squares them.
    """
    n = guess.shape[1]
    kind = free_trial if guess.shape[0] == FREE else held_trial
    done = Solved(guess.copy(), np.zeros(n, dtype=bool), *(np.full(n, np.nan) for _ in range(3)))
    active = np.arange(n)
    for turn in range(rounds + 1):
        here = k.take(active)
        trial = kind(here, done.u[:, active], how)
        move, sign = _moves(trial)
        done.sign[active], done.outward[active] = sign, trial.outward
        size = np.max(np.abs(trial.residual) / np.maximum(1.0, here.height), axis=0)
        sane = np.isfinite(size) & np.isfinite(move).all(axis=0)
        done.u[:, active[sane]] += np.clip(move[:, sane], -0.3, 0.3)
        good = sane & (size < close) & (np.max(np.abs(move), axis=0) < 3e-4)
        done.good[active[good]] = True
        active = active[sane & ~good]
        if turn == rounds or not active.size:
            break
    ringed = np.flatnonzero(done.good & (k.control_radius > 0))
    if ringed.size and kind is free_trial:
        done.gap[ringed] = _gap(k.take(ringed), done.u[:, ringed], how)
    return done


@dataclass(slots=True)
class Descent:
    """Where each descent stands: the last balloon and its traveller's mass."""

    mass: Array
    u: Array
    """(5, n); free balloons use rows 0, 1 and 2."""
    back: Array
    """(5, n) the balloon before, and its mass, for the guess."""
    back_mass: Array
    held: NDArray[np.bool_]
    sign: Array
    fresh: NDArray[np.bool_]
    """No balloon of the same kind before this one."""
    ended: NDArray[np.bool_]
    lifted: NDArray[np.bool_]
    """The last refused step failed because the traveller no longer pressed outwards."""
    begun: NDArray[np.bool_]


def _straight(k: Setting) -> tuple[Array, NDArray[np.bool_]]:
    """Guess a very heavy traveller's balloon: straight, or in two straight parts where the control ring bends it."""
    held = (k.control_radius > 0) & (k.control_depth / k.height > k.control_radius)
    with np.errstate(all="ignore"):
        angle = np.where(held, np.arctan2(k.control_radius, k.control_depth), np.arctan2(1.0, k.height))
        lower = k.height - k.control_depth
        second = np.arctan2(1.0 - k.control_radius, lower)
        above = np.where(held, np.hypot(k.control_radius, k.control_depth), np.hypot(1.0, k.height))
    pull = np.stack([np.sin(angle), np.zeros_like(angle), np.cos(angle)])
    g = np.arcsin(k.cop)
    wrap = np.arccos(-pull[0] * np.cos(g))
    winding = np.where(k.ratio > 0, k.ratio, np.exp(k.yarn_friction * wrap))
    with np.errstate(all="ignore"):
        needed = pull[0] + winding * np.cos(g) + np.sqrt((winding * np.sin(g) / k.ring_friction) ** 2 - pull[2] ** 2)
    tension = k.mass / needed
    return np.stack(
        [np.log(tension), angle, above, np.maximum(second - angle, 0.0), np.hypot(1 - k.control_radius, lower)]
    ), held


def start(k: Setting, heaviest: Array) -> Descent:
    """Solve for very heavy travellers, of masses ``heaviest``."""
    n = heaviest.shape[0]
    here = replace(k, mass=heaviest)
    u, held = _straight(here)
    begun, sign = np.zeros(n, dtype=bool), np.full(n, np.nan)
    for kind, rows in ((False, FREE), (True, HELD)):
        i = np.flatnonzero(held == kind)
        if i.size:
            found = newton(here.take(i), u[:rows, i], COARSE, rounds=12)
            u[:rows, i], begun[i], sign[i] = found.u, found.good & (found.outward > 0), found.sign
            if not kind:
                begun[i] &= ~(found.gap > 0)
    no = np.zeros(n, dtype=bool)
    return Descent(heaviest.copy(), u, u.copy(), heaviest.copy(), held, sign, ~no, ~begun, no.copy(), begun)


def _attempt(
    k: Setting, d: Descent, i: NDArray[np.intp], mass: Array, *, held: bool, how: Fineness
) -> tuple[Solved, NDArray[np.bool_]]:
    """Try to step to ``mass`` as a free or as a held balloon; says also which attempts are sound."""
    rows = HELD if held else FREE
    here = replace(k.take(i), mass=mass)
    old = d.u[:rows, i]
    same = (d.held[i] == held) & ~d.fresh[i]
    with np.errstate(all="ignore"):
        share = np.where(same, np.log(mass / d.mass[i]) / np.log(d.mass[i] / d.back_mass[i]), 0.0)
    rate = old - d.back[:rows, i]
    guess = old + np.where(same, share, 0.0) * rate
    if held:
        was_free = ~d.held[i]
        if was_free.any():  # share out the yarn of the free balloon
            part = here.control_depth / here.height
            guess[:, was_free] = np.stack(
                [old[0], old[1], old[2] * part, np.full_like(part, 1e-3), old[2] * (1 - part)]
            )[:, was_free]
    elif d.held[i].any():
        was_held = d.held[i]
        guess[2, was_held] = d.u[2, i[was_held]] + d.u[4, i[was_held]]
    found = newton(here, guess, how)
    step = np.abs(np.log(mass / d.mass[i]))
    way = np.max(np.abs(guess[:2] - old[:2]), axis=0)
    apart = np.max(np.abs(found.u[:2] - guess[:2]), axis=0)
    sound = found.good & (apart < 0.5 * step + 0.7 * way + 2e-5 + np.where(same, 0.0, 0.02))
    # At a fold the determinant changes its sign; a step across one is refused.
    sound &= (d.held[i] != held) | (found.sign == d.sign[i])
    return found, sound


def lighten(k: Setting, target: Array, *, factor: float = 0.97, least: float = 2e-6, how: Fineness = COARSE) -> Descent:
    """Lighten travellers to the ``target`` masses, or to where the branch ends."""
    d = start(k, np.maximum(HEAVY * target, _heavy_enough(k)))
    stride = np.full(target.shape[0], -np.log(factor))
    longest = stride.copy()
    while True:
        i = np.flatnonzero(~d.ended & (d.mass > target * (1 + 1e-13)))
        if not i.size:
            return d
        mass = np.maximum(d.mass[i] * np.exp(-stride[i]), target[i])
        accepted = _step(k, d, i, mass, how)
        stride[i] = np.where(accepted, np.minimum(1.6 * stride[i], longest[i]), 0.5 * stride[i])
        d.ended |= (stride < least) & ~(d.mass <= target * (1 + 1e-13))


def _heavy_enough(k: Setting):
    """Mass of a traveller that holds about 1.5 h^2 at the guide: ten times the tension of a fold."""
    unit, _ = _straight(replace(k, mass=np.ones_like(k.mass)))
    return 1.5 * (k.height**2 + 1) / np.exp(unit[0])


def _step(k: Setting, d: Descent, i: NDArray[np.intp], mass: Array, how: Fineness) -> NDArray[np.bool_]:
    """Take one step with the cases ``i`` where it is sound, going over to or from the control ring where it must."""
    accepted = np.zeros(i.size, dtype=bool)
    pending = np.ones(i.size, dtype=bool)
    d.lifted[i] = False
    kinds = d.held[i].copy()
    for go in range(2):
        for held in (False, True):
            j = np.flatnonzero(pending & (kinds == held) & (held <= (k.control_radius[i] > 0)))
            if not j.size:
                continue
            found, sound = _attempt(k, d, i[j], mass[j], held=held, how=how)
            wrong = (found.u[3] < 0) if held else (found.gap > 0)
            d.lifted[i[j]] |= found.good & ~wrong & ~(found.outward > 0)
            take = sound & ~wrong & (found.outward > 0)
            _accept(d, i[j[take]], mass[j[take]], found, take, held)
            accepted[j[take]] = True
            pending[j] = found.good & wrong & (go == 0)
        kinds = np.where(pending, ~kinds, kinds)
    return accepted


def _accept(d: Descent, i: NDArray[np.intp], mass: Array, found: Solved, take: NDArray[np.bool_], held: bool) -> None:
    rows = HELD if held else FREE
    d.fresh[i] = d.held[i] != held
    d.back[:, i], d.back_mass[i] = d.u[:, i], d.mass[i]
    d.u[:rows, i], d.mass[i], d.held[i], d.sign[i] = found.u[:, take], mass, held, found.sign[take]
