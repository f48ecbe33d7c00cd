"""A bobbin unwound from full to empty: tension, cohesion, false draft, slack at a stop, and the band of the brake."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ringwright.creel.supply import Supply, supply_of
from ringwright.mill import Mill
from ringwright.mill.creel import Creel
from ringwright.physics import cohesion, unwinding
from ringwright.physics.real import Array
from ringwright.refusal import Fault, Refusal
from ringwright.units import from_unit, show

__all__ = ["AS_SET", "BRAKE_RANGE", "Band", "TriedCreel", "Unwound", "unwound", "unwound_of"]

BRAKE_RANGE: Final = (0.0, 0.2)
"""Brake torques that are looked at [N m], as the mill file allows them."""
TWIST_RANGE: Final = (0.4, 3.0)
"""Twist multipliers of a roving [TM] that are looked at, as the mill file allows them."""
PLACES: Final = 81
HALVINGS: Final = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedCreel:
    """What to try in the creel in place of what is set: brake torque [N m], twist multiplier of the roving (SI).

    ``cohesion`` multiplies the roving's cohesion, to see how much hangs on it.
    """

    brake_torque: float | None = None
    roving_twist: float | None = None
    cohesion: float = 1.0


AS_SET = TriedCreel()
"""The creel as the mill has it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """The brake torques [N m] that neither let a bobbin run on nor draw the roving out; None where there is no end.

    ``lowest`` is what a stop and air jets ask beside the bearing's own torque; ``lowest_by`` and ``highest_by`` name
    what sets each end. ``highest`` is None where even without a brake the roving is drawn too far.
    """

    lowest: float
    lowest_by: str
    highest: float | None
    highest_by: str

    @property
    def empty(self) -> bool:
        """Tell whether no brake does both."""
        return self.highest is None or self.highest < self.lowest

    def holds(self, brake: float) -> bool:
        """Tell whether a brake torque lies in the band."""
        return self.highest is not None and self.lowest <= brake <= self.highest


@dataclass(frozen=True, slots=True, kw_only=True)
class Unwound:
    """A bobbin from full (first) to empty (last); arrays over ``share``, the roving left as a share of a full bobbin.

    Tensions [N] at the back rollers: ``steady`` is even running, ``start`` a start with a strand that does not give,
    ``highest`` the most that a start or a bobbin turning by jerks can make, ``lowest`` the least of the jerks.
    ``least`` is the tension of the least holding torque. ``slack`` [m] after a stop. ``cohesion`` and ``weak`` [N] are
    the strand's and its weak place's; ``measured`` tells whether the mill read it. ``count_change`` [1] is what steady
    tension makes of the count.
    """

    supply: Supply
    brake: float
    band: Band
    share: Array
    radius: Array
    steady: Array
    start: Array
    highest: Array
    lowest: Array
    least: Array
    slack: Array
    count_change: Array
    cohesion: float
    weak: float
    measured: bool
    twist_angle: float
    package_density: float

    @property
    def false_draft(self) -> float:
        """The highest tension as a share of what a weak place bears; infinite where that bears nothing."""
        return float(self.highest.max() / self.weak) if self.weak > 0 else np.inf

    @property
    def drawn(self) -> float:
        """What the tension takes of what is allowed of it [1], the harder of highest tension and change of count."""
        creel = self.supply.frame.creel
        return float(max(self.false_draft / creel.cohesion_share, -self.count_change.min() / creel.count_allowance))

    @property
    def runs_on(self) -> float:
        """The torque that a stop and air jets ask over that which holds the bobbin [1], at the worst radius."""
        with np.errstate(divide="ignore"):
            return float((self.least / self.steady).max())


def unwound(mill: Mill, frame: str, yarn: str, tried: TriedCreel = AS_SET) -> Unwound:
    """Unwind a bobbin of a frame and yarn as set or as tried.

    Raises Refusal for an unknown name and for each tried value out of its range.
    """
    supply = supply_of(mill, frame, yarn)
    faults = _faults(tried)
    if faults:
        raise Refusal(faults)
    return unwound_of(supply, tried)


def unwound_of(supply: Supply, tried: TriedCreel = AS_SET) -> Unwound:
    """Unwind a bobbin of a supply already known."""
    creel = supply.frame.creel
    brake = creel.brake_torque if tried.brake_torque is None else tried.brake_torque
    angle, force, measured = _cohesion(supply, tried)
    weak = float(cohesion.weak_place(force, supply.roving.cohesion_cv))
    share = np.linspace(1.0, 0.0, PLACES)
    parts = _Parts(supply, creel, force)
    steady, lowest, highest = parts.tensions(brake, share)
    drawn: Array = cohesion.strand_extension(steady, force, supply.roving.slip_extension)
    hanger = parts.hanger(brake)
    radius = unwinding.bobbin_radius(parts.bobbin, share)
    least = unwinding.least_holding_torque(parts.bobbin, parts.feed, creel.slack_allowed, share)
    held = np.maximum(least, creel.disturbing_torque)
    return Unwound(
        supply=supply, brake=brake, band=_band(parts, weak, share), share=share, radius=radius, steady=steady,
        start=unwinding.start_tension(parts.bobbin, hanger, parts.strand, parts.feed, share), highest=highest,
        lowest=lowest, least=held / radius * unwinding.guide_gain(parts.strand),
        slack=unwinding.overrun_slack(parts.bobbin, hanger, parts.feed, share),
        count_change=np.where(np.isfinite(drawn), cohesion.count_change(np.minimum(drawn, 1e9)), -1.0),
        cohesion=force, weak=weak, measured=measured, twist_angle=angle,
        package_density=unwinding.package_density(parts.bobbin),
    )  # fmt: skip


class _Parts:
    """Bobbin, strand, feed and hanger of a creel as the physics takes them; the brake comes last."""

    def __init__(self, supply: Supply, creel: Creel, force: float) -> None:
        roving = supply.roving
        self.creel, self.force, self.roving = creel, force, roving
        self.bobbin = unwinding.Bobbin(
            empty_radius=creel.empty_diameter / 2, full_radius=creel.full_diameter / 2, traverse=creel.traverse,
            tube_mass=creel.tube_mass, content=roving.bobbin_mass,
        )  # fmt: skip
        stiffness = float(cohesion.strand_stiffness(force, roving.slip_extension, creel.free_length))
        self.strand = unwinding.Strand(stiffness=stiffness, wrap=creel.take_off_angle, friction=creel.guide_friction)
        self.feed = unwinding.Feed(speed=supply.feed_speed, start_time=creel.start_time, stop_time=creel.stop_time)

    def hanger(self, brake: float) -> unwinding.Hanger:
        """Give the hanger with a brake torque."""
        creel = self.creel
        return unwinding.Hanger(
            bearing_friction=creel.bearing_friction, bearing_diameter=creel.bearing_diameter, brake_torque=brake,
            breakaway=creel.breakaway,
        )  # fmt: skip

    def tensions(self, brake: float, share: Array) -> tuple[Array, Array, Array]:
        """Give steady, lowest and highest tension [N] with a brake torque."""
        hanger = self.hanger(brake)
        steady = unwinding.steady_tension(self.bobbin, hanger, self.strand, share)
        low, high = unwinding.jerk_tensions(self.bobbin, hanger, self.strand, self.feed, share)
        peak = unwinding.start_peak(self.bobbin, hanger, self.strand, self.feed, share)
        return steady, low, np.maximum(high, peak)


def _cohesion(supply: Supply, tried: TriedCreel) -> tuple[float, float, bool]:
    """Give twist angle [rad], cohesion of the strand [N], and whether the mill has read it.

    A reading holds for the twist it was read at; with another twist it is moved as the estimate moves.
    """
    roving, fibres = supply.roving, supply.yarn.fibres
    length, fineness = cohesion.mean_fibre(
        [fibre.share for fibre in fibres], [fibre.fineness for fibre in fibres], [fibre.length for fibre in fibres]
    )
    multiplier = roving.twist_multiplier if tried.roving_twist is None else tried.roving_twist

    def estimate(twist: float) -> tuple[float, float]:
        angle = float(cohesion.twist_angle(twist, roving.strand_density))
        return angle, float(cohesion.specific_cohesion(angle, length, fineness, roving.fibre_friction))

    angle, specific = estimate(multiplier)
    if roving.cohesion is not None:
        specific *= roving.cohesion / estimate(roving.twist_multiplier)[1]
    return angle, specific * roving.count * tried.cohesion, roving.cohesion is not None


def _band(parts: _Parts, weak: float, share: Array) -> Band:
    """Find the band: the least torque at any share less the bearing's, and by halving the brake that draws too far."""
    creel = parts.creel
    bearing = unwinding.holding_torque(parts.bobbin, parts.hanger(0.0), share)
    run_on = float(
        (unwinding.least_holding_torque(parts.bobbin, parts.feed, creel.slack_allowed, share) - bearing).max()
    )
    stirred = float((creel.disturbing_torque - bearing).max())
    lowest = max(run_on, stirred, 0.0)
    by = (
        "the bearing alone holds enough"
        if lowest == 0
        else "slack at a stop"
        if run_on >= stirred
        else "air and knocks"
    )

    def too_far(brake: float) -> str:
        steady, _, highest = parts.tensions(brake, share)
        if highest.max() > creel.cohesion_share * weak:
            return "the highest tension on a weak place"
        drawn = float(cohesion.strand_extension(float(steady.max()), parts.force, parts.roving.slip_extension))
        return "" if drawn / (1 + drawn) <= creel.count_allowance else "the change of count"

    good, bad = BRAKE_RANGE
    if too_far(good):
        return Band(lowest=lowest, lowest_by=by, highest=None, highest_by=too_far(good))
    if not too_far(bad):
        return Band(lowest=lowest, lowest_by=by, highest=bad, highest_by="the heaviest brake looked at")
    for _ in range(HALVINGS):
        middle = (good + bad) / 2
        good, bad = (good, middle) if too_far(middle) else (middle, bad)
    return Band(lowest=lowest, lowest_by=by, highest=good, highest_by=too_far(bad))


def _faults(tried: TriedCreel) -> list[Fault]:
    faults = []
    if tried.brake_torque is not None and not BRAKE_RANGE[0] <= tried.brake_torque <= BRAKE_RANGE[1]:
        wants = f"from 0 to {show(BRAKE_RANGE[1], 'torque')}"
        faults.append(Fault(where="the brake", got=show(tried.brake_torque, "torque"), wants=wants))
    least, most = (from_unit(end, "twist multiplier", "TM") for end in TWIST_RANGE)
    if tried.roving_twist is not None and not least <= tried.roving_twist <= most * (1 + 1e-9):
        wants = f"from {show(least, 'twist multiplier', 'TM')} to {show(most, 'twist multiplier', 'TM')}"
        got = show(tried.roving_twist, "twist multiplier", "TM")
        faults.append(Fault(where="the roving's twist", got=got, wants=wants))
    return faults
