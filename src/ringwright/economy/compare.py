"""Two settings or frames side by side: what differs in them, what differs in what they do, and which change does it.

Going from A to B one change at a time and solving each step splits every difference into the changes that make it. The
order is fixed, frame first and speed last; where changes act together, what they make together goes to the later one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from ringwright.economy.breaks import doff_stress, rate_ratio, strength_of
from ringwright.economy.cost import Ground, cost_per_kg, ground
from ringwright.economy.energy import drawn_power, time_weights
from ringwright.mill import Frame, Mill, Yarn
from ringwright.mill.setting import SPEEDS
from ringwright.refusal import Fault, Refusal
from ringwright.setting.choice import Choice, Trial, choose
from ringwright.setting.doff import Doff, solve_doff

__all__ = ["Change", "Kind", "Row", "SideBySide", "compare"]

Kind = Literal[
    "frame", "yarn", "yarn friction and drag", "guide", "control ring", "ring friction", "traveller", "speed",
    "efficiency",
]  # fmt: skip
SAME_YARN = ("name", "count", "twist_multiplier", "strength", "strength_cv")
"""What two yarns must have alike for a ratio of their breaks to hold."""
Side = tuple[str, str, Trial]
"""Frame, yarn and what is tried."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One result of both sides, SI; ``steps`` is what each change adds on the way from A to B."""

    name: str
    quantity: str
    unit: str
    digits: int
    a: float
    b: float
    steps: tuple[float, ...]

    @property
    def relative(self) -> float:
        """The difference as a share of the larger of the two."""
        largest = max(abs(self.a), abs(self.b))
        return abs(self.b - self.a) / largest if largest else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing in which B differs from A."""

    kind: Kind
    choice: Choice
    """A with this and all earlier changes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBySide:
    """Both doffs, the changes that lead from one to the other, and the results, largest relative difference first."""

    a: Doff
    b: Doff
    changes: tuple[Change, ...]
    rows: tuple[Row, ...]
    left_out: str
    """Why breaks and cost are not compared; "" if they are."""


def compare(mill: Mill, a: Side, b: Side, other: Mill | None = None) -> SideBySide:
    """Compare two sides; Refusal if they are alike, and for whatever ``choose`` refuses on either.

    B is chosen from the ``other`` mill if one is given; prices, air and frame power are those of the first.
    """
    first, second = choose(mill, *a), choose(other or mill, *b)
    changes = _changes(first, second)
    if not changes:
        mend = "Try something with --with, or name another frame or yarn with --frame-b or --yarn-b."
        raise Refusal(Fault(where="B", got="the same as A", wants="different from A", mend=mend))
    doffs = [_doff(mill, first), *(_doff(mill, change.choice) for change in changes)]
    same_yarn = all(getattr(first.yarn, key) == getattr(second.yarn, key) for key in SAME_YARN)
    steady = all(np.all(np.isfinite(doff.forces.winding_tension)) for doff in doffs)
    terms = ground(mill, doffs[0]) if same_yarn and steady else None
    told = [_results(doff, mill, terms) for doff in doffs]
    names = [name for name in told[0] if all(name in one for one in told)]
    rows = [
        Row(
            name=name[0], quantity=name[1], unit=name[2], digits=name[3], a=told[0][name], b=told[-1][name],
            steps=tuple(after[name] - before[name] for before, after in pairwise(told)),
        )
        for name in names
    ]  # fmt: skip
    why = "the yarns differ, and a ratio of breaks holds for one yarn" if not same_yarn else ""
    return SideBySide(
        a=doffs[0], b=doffs[-1], changes=tuple(changes), rows=tuple(sorted(rows, key=lambda row: -row.relative)),
        left_out=why if steady else "some place of a doff on the way has no steady balloon",
    )  # fmt: skip


def _changes(a: Choice, b: Choice) -> list[Change]:
    """Give the changes from A to B, each with the choice that it leads to."""
    steps: list[tuple[Kind, Choice]] = []
    here = a

    def step(kind: Kind, new: Choice) -> None:
        nonlocal here
        if new != here:
            steps.append((kind, new))
            here = new

    step("frame", replace(here, frame=_next_frame(a.frame, b.frame)))
    step(_yarn_kind(a.yarn, b.yarn), replace(here, yarn=b.yarn))
    if here.frame.guide != b.frame.guide:
        step("guide", replace(here, frame=here.frame.model_copy(update={"guide": b.frame.guide})))
    step("guide", replace(here, setting=here.setting.model_copy(update={"guide_fixed": b.setting.guide_fixed})))
    ring = here.frame.model_copy(update={"control_ring": b.frame.control_ring})
    step("control ring", replace(here, frame=ring))
    if here.frame.ring.friction != b.frame.ring.friction:
        step("ring friction", replace(here, frame=here.frame.model_copy(update={"ring": b.frame.ring})))
    if here.traveller.mass != b.traveller.mass:
        step("traveller", replace(here, traveller=b.traveller))
    here = replace(here, traveller=b.traveller)
    speeds = {key: getattr(b.setting, key) for key in (*SPEEDS, "base_until", "tip_from")}
    if any(getattr(here.setting, key) != value for key, value in speeds.items()):
        step("speed", replace(here, setting=here.setting.model_copy(update=speeds)))
    step("efficiency", replace(here, setting=here.setting.model_copy(update={"efficiency": b.setting.efficiency})))
    return [Change(kind=kind, choice=choice) for kind, choice in steps]


def _next_frame(a: Frame, b: Frame) -> Frame:
    """Give B's frame with A's ring friction, and where it is the same frame also A's guide and control ring.

    These are changes of their own. A frame of the same name in another mill with nothing else changed is A's itself.
    """
    frame = b.model_copy(update={"ring": b.ring.model_copy(update={"friction": a.ring.friction})})
    if a.name != b.name:
        return frame
    frame = frame.model_copy(update={"guide": a.guide, "control_ring": a.control_ring})
    band = {end: getattr(a.ring, end) for end in ("friction_low", "friction_high")}
    said = {"origins": a.origins, "spread": a.spread, "ring": frame.ring.model_copy(update=band)}
    return a if frame.model_copy(update=said) == a else frame


def _yarn_kind(a: Yarn, b: Yarn) -> Kind:
    """Say whether two yarns differ but in how they rub and are dragged."""
    rubs = {key: getattr(a, key) for key in ("traveller_friction", "drag_coefficient", "origins", "spread")}
    return "yarn friction and drag" if b.model_copy(update=rubs) == a else "yarn"


def _doff(mill: Mill, choice: Choice) -> Doff:
    """Solve the doff of a choice, as a mill of that one setting."""
    frame, yarn, traveller = choice.frame, choice.yarn, choice.traveller
    setting = choice.setting.model_copy(update={"frame": frame.name, "yarn": yarn.name, "traveller": traveller.name})
    alone = mill.model_copy(
        update={
            "frames": {frame.name: frame},
            "yarns": {yarn.name: yarn},
            "travellers": {traveller.name: traveller},
            "settings": {setting.name: setting},
        }
    )
    return solve_doff(alone, frame.name, yarn.name)


Name = tuple[str, str, str, int]


def _results(doff: Doff, mill: Mill, terms: Ground | None) -> dict[Name, float]:
    """Give the results of a doff by name with quantity, unit and decimals; nan results are left out."""
    forces, problem, setting = doff.forces, doff.problem, doff.choice.setting
    rim = doff.places.traveller_speed * doff.choice.frame.ring.diameter / 2
    making = problem.content / problem.doff_time * setting.efficiency
    weights = time_weights(doff)
    power = drawn_power(doff, mill.power)
    found: dict[Name, float] = {
        ("highest tension at the triangle", "force", "cN", 1): float(np.max(forces.triangle_most)),
        ("mean tension at the triangle", "force", "cN", 1): float(weights @ forces.triangle_tension),
        ("highest winding tension", "force", "cN", 1): float(np.max(forces.winding_tension)),
        ("tension as a share of strength", "share", "%", 1): float(np.max(forces.triangle_most))
        / doff.choice.yarn.strength,
        ("highest speed of the traveller", "speed", "m/s", 1): float(np.max(rim)),
        ("highest heat at the traveller", "power", "W", 1): float(np.max(forces.traveller_heat)),
        ("least room to the separator", "length", "mm", 1): float(np.min(forces.separator_room)),
        ("yarn of one spindle", "output", "g/h", 1): making,
        ("spinning time of the doff", "time", "min", 0): problem.doff_time,
        ("yarn on the cop", "mass", "g", 1): problem.content,
        ("power of one spindle", "power", "W", 1): power,
        ("energy of 1 kg, kWh", "ratio", "1", 3): power * problem.doff_time / problem.content / 3.6e6,
    }
    if terms is not None:
        yarn = doff.choice.yarn
        stress = doff_stress(doff, strength_of(yarn.strength, yarn.strength_cv).shape)
        ratio = rate_ratio(stress, terms.stress, mill.money.tension_breaks_share)
        found["breaks, times those of A", "ratio", "1", 2] = ratio
        found[f"cost of 1 kg, {mill.money.currency}", "ratio", "1", 4] = cost_per_kg(doff, terms).total
    return {name: value for name, value in found.items() if np.isfinite(value)}
