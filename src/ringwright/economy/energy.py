"""The power of one spindle by part through the doff, and the energy in a kilogram of yarn."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ringwright.mill.power import Power
from ringwright.physics.cop import profile
from ringwright.physics.package_drag import package_drag_power
from ringwright.physics.position import solve
from ringwright.physics.power import YarnPower, yarn_power
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal
from ringwright.setting.choice import Choice
from ringwright.setting.doff import Doff
from ringwright.setting.problem import cop_shape, positions

__all__ = [
    "Energy",
    "drawn_power",
    "energy_by_part",
    "frame_power",
    "outline_power",
    "require_steady",
    "time_weights",
]

SLICES = 121


@dataclass(frozen=True, slots=True, kw_only=True)
class Energy:
    """Power of one spindle at the places of a doff [W], by part, while it spins; and what it comes to.

    The parts add to ``drawn``, the power taken from the mains. ``imbalance`` is the largest share of the yarn's power
    that traveller, balloon and control ring leave unexplained at any place: the error of the solved balloons.
    """

    parts: dict[str, Array]
    weights: Array
    """Share of the doff's time spent at each place."""
    imbalance: float
    spinning_time: float
    """[s]"""
    content: float
    """Yarn of one doff and spindle [kg]."""

    @property
    def drawn(self) -> Array:
        """All parts together at each place [W]."""
        return np.asarray(sum(self.parts.values()), dtype=np.float64)

    @property
    def means(self) -> dict[str, float]:
        """Mean of each part over the doff's time [W]."""
        return {name: float(self.weights @ part) for name, part in self.parts.items()}

    @property
    def per_mass(self) -> dict[str, float]:
        """Energy of each part in the yarn made [J/kg], standing times left out."""
        return {name: mean * self.spinning_time / self.content for name, mean in self.means.items()}


def energy_by_part(doff: Doff, power: Power) -> Energy:
    """Return the power by part; raises Refusal if a place of the doff has no steady balloon."""
    require_steady(doff, "the energy")
    yarn = _solved_yarn_power(doff)
    places = doff.places
    at_shaft = {
        "traveller on ring": yarn.traveller,
        "balloon in the air": yarn.balloon,
        "yarn on control ring": yarn.control_ring,
        "drawing the yarn in": doff.forces.winding_tension * places.yarn_speed,
        "cop in the air": outline_power(doff.choice, power, places.spindle_speed, places.foot_height),
    } | frame_power(power, places.spindle_speed)
    shafts = np.asarray(sum(at_shaft.values()), dtype=np.float64)
    return Energy(
        parts=at_shaft | {"motor and inverter": shafts * (1 / power.efficiency - 1)},
        weights=time_weights(doff),
        imbalance=float(np.max(np.abs(yarn.imbalance))),
        spinning_time=doff.problem.doff_time,
        content=doff.problem.content,
    )


def frame_power(power: Power, spindle_speed: Array) -> dict[str, Array]:
    """Return the parts that no drawing of the position gives [W], at spindle speeds [rad/s]: the mill's own figures."""
    bare = power.bare_spindle * (spindle_speed / power.bare_spindle_speed) ** power.bare_spindle_exponent
    return {
        "bare spindle and its drive": bare,
        "drafting": power.drafting * spindle_speed / power.drafting_speed,
        "suction": np.full_like(spindle_speed, power.suction),
    }


def drawn_power(doff: Doff, power: Power, ratio: float = 1.0) -> float:
    """Return the mean power drawn [W] over a doff run at ``ratio`` times its speeds, without solving again.

    Shapes of balloons do not change with speed and all forces grow with its square, so the yarn's power grows with
    the cube; exact while gravity and feed are left out of the balloon, as in a doff.
    """
    places, forces = doff.places, doff.forces
    weights = time_weights(doff)
    yarn = forces.winding_tension * places.winding_diameter / 2 * places.spindle_speed
    good = np.isfinite(yarn)
    mean_yarn = float(weights[good] @ yarn[good] / weights[good].sum()) * ratio**3
    row = doff.places_per_stroke
    few = slice(None, None, row)  # the cop's outline changes from stroke to stroke only
    speed = ratio * places.spindle_speed[few]
    share = weights.reshape(-1, row).sum(axis=1)
    air = float(share @ outline_power(doff.choice, power, speed, places.foot_height[few]))
    frame = sum(float(share @ part) for part in frame_power(power, speed).values())
    return (mean_yarn + air + frame) / power.efficiency


def time_weights(doff: Doff) -> Array:
    """Return the share of the doff's time at each place: places carry equal lengths of yarn."""
    slowness = 1 / doff.places.yarn_speed
    return np.asarray(slowness / slowness.sum(), dtype=np.float64)


def require_steady(doff: Doff, what: str) -> None:
    """Refuse a doff of which some places have no steady balloon."""
    lost = int(np.sum(~np.isfinite(doff.forces.winding_tension)))
    if lost:
        got = f"{lost} of {len(doff.places)} places of the doff without a steady balloon"
        mend = "Try a heavier traveller or a control ring; the doff command says where it fails."
        raise Refusal(
            Fault(where=what, got=f"asked for with {got}", wants="of a doff that spins throughout", mend=mend)
        )


def _solved_yarn_power(doff: Doff) -> YarnPower:
    order = np.arange(len(doff.places)).reshape(-1, doff.places_per_stroke).T.ravel()
    given = positions(doff.choice, doff.places)
    return yarn_power(given, solve(given.take(order), sweep=True).take(np.argsort(order)))


def outline_power(choice: Choice, power: Power, speed: Array, foot: Array) -> Array:
    """Return the air's drag [W] on tube and cop, hairy where yarn is wound, at speeds [rad/s] and the strokes' feet."""
    tube, shape = choice.frame.tube, cop_shape(choice.frame)
    heights = np.linspace(-tube.bare_bottom, shape.lift + tube.bare_top, SLICES)
    feet, index = np.unique(foot, return_inverse=True)
    outlines = profile(shape, feet[:, None], heights)[index]
    wound = (heights > 0) & (heights < foot[:, None] + shape.chase)
    hairs = np.where(wound, power.hairiness, 1.0)
    return package_drag_power(outlines, heights, speed, choice.air_density, hairs)
