"""What must be said with the rooms: places without a steady balloon first, then the yarn, then how it was looked."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ringwright.judgement.close_look import CloseLook
from ringwright.judgement.room import place_of
from ringwright.physics.outcome import Outcome
from ringwright.physics.real import Array
from ringwright.setting.doff import Doff
from ringwright.units import show

__all__ = ["band_words", "method_notes", "thermoplastic_notes", "unsteady_notes"]


def _friction(value: float) -> str:
    text = f"{value:.4f}".rstrip("0")
    return text if len(text) >= 4 else f"{value:.2f}"


def band_words(frictions: Sequence[float], *, tried: bool) -> str:
    """Say what the intervals span: "ring friction 0.08 to 0.13", or that there is no band."""
    if len(frictions) == 1:
        return f"ring friction {_friction(frictions[0])}{' as tried' if tried else ''}, no band"
    return f"ring friction {_friction(min(frictions))} to {_friction(max(frictions))}"


def unsteady_notes(doffs: Sequence[Doff], looks: Sequence[CloseLook]) -> tuple[str, ...]:
    """Say for each doff, the usual one first, which limit is passed where and by how much."""
    notes = []
    for doff, look in zip(doffs, looks, strict=True):
        passed: dict[Outcome, Array | None] = {
            Outcome.FOLD: look.fold,
            Outcome.LIFT_OFF: look.lift_off,
            Outcome.NOT_CONVERGED: None,
        }
        notes += [
            _unsteady(doff, outcome, masses)
            for outcome, masses in passed.items()
            if np.any(doff.forces.outcome == outcome)
        ]
    return tuple(notes)


def _unsteady(doff: Doff, outcome: Outcome, masses: Array | None) -> str:
    there = np.flatnonzero(doff.forces.outcome == outcome)
    minutes = doff.places.time[there] / 60
    at = f"minute {minutes.min():.0f}"
    span = f"at {at}" if round(minutes.min()) == round(minutes.max()) else f"from {at} to {minutes.max():.0f}"
    head = f"At ring friction {_friction(doff.choice.frame.ring.friction)}, {len(there)} of {len(doff.places)} places"
    if masses is None or not np.isfinite(masses[there]).any():
        what = "could not be solved" if masses is None else f"have no steady balloon, beyond the {outcome.word}"
        return f"{head} {what}, {span}; no room is given for them."
    worst = int(there[np.nanargmax(masses[there])])
    mass = doff.choice.traveller.mass
    short, needs, has = (show(m, "mass", "mg", 1) for m in (float(masses[worst]) - mass, float(masses[worst]), mass))
    return (
        f"{head} have no steady balloon, {span}: the {outcome.word} is passed by up to {short}, at "
        f"{place_of(doff, worst).words}, where the limit is {needs} and the traveller has {has}. "
        "The other rooms leave these places out."
    )


def thermoplastic_notes(doff: Doff) -> tuple[str, ...]:
    """Warn where the yarn holds fibres that rubbing heat can melt."""
    melting = [fibre for fibre in doff.choice.yarn.fibres if fibre.thermoplastic]
    if not melting:
        return ()
    names = " and ".join(f"{fibre.name} ({show(fibre.share, 'share', '%')})" for fibre in melting)
    control = doff.choice.frame.control_ring is not None
    where = "traveller and at the control ring" if control else "traveller"
    warning = (
        f"This yarn holds {names}, which rubbing heat can melt: look for fused fibres in the yarn, and for melt and "
        f"fly at the {where}. The powers given are of rubbing, not temperatures; no melting limit is computed."
    )
    return (warning,)


def method_notes(doff: Doff, look: CloseLook, frictions: Sequence[float]) -> tuple[str, ...]:
    """Say how many places were solved and looked at closely, and which tension is held against the strength."""
    solved = len(doff.places)
    times = "" if len(frictions) == 1 else f" at each of ring friction {', '.join(_friction(f) for f in frictions)}"
    followed, drawn = int(look.followed_at.sum()), int(look.shapes_at.sum())
    looked = (
        f"{solved} places of the doff were solved{times}. Fold, neck and lift-off were looked for at {followed} of "
        f"them, tube and cop at {drawn}: foot and top of strokes, and where the doff's plain quantities are worst."
    )
    tension = (
        "Yarn strength: the tension that counts is the largest at the spinning triangle over a turn of the balloon, "
        "because the yarn has least twist there; it is held against a share of the finished yarn's mean strength."
    )
    return looked, tension
