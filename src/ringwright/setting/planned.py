"""What a spin plan holds: its parts, each a set of figures."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.refusal import Fault, Refusal
from ringwright.setting.electronic import ToSet
from ringwright.setting.figure import Figure
from ringwright.setting.wheels import Wheels
from ringwright.units import show

__all__ = [
    "DoffPlan", "DraftPlan", "FibrePlan", "Order", "OrderPlan", "Plan", "Production", "RovingPlan", "Speed", "Speeds",
    "TravellerPlan", "TwistPlan",
]  # fmt: skip

HEAVIEST_ORDER, LONGEST_TIME = 1e8, 3.6e8


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """Yarn to be made: mass [kg], up to 100 000 t, and time to make it in [s], up to 100 000 h; Refusal if outside."""

    mass: float
    time: float

    def __post_init__(self) -> None:
        faults = []
        if not 0 < self.mass <= HEAVIEST_ORDER:
            wants = f"more than 0 kg and at most {show(HEAVIEST_ORDER, 'mass', 'kg')}"
            faults.append(Fault(where="the mass of the order", got=show(self.mass, "mass", "kg"), wants=wants))
        if not 0 < self.time <= LONGEST_TIME:
            wants = f"more than 0 h and at most {show(LONGEST_TIME, 'time', 'h')}"
            faults.append(Fault(where="the time for the order", got=show(self.time, "time", "h"), wants=wants))
        if faults:
            raise Refusal(faults)


@dataclass(frozen=True, slots=True, kw_only=True)
class TwistPlan:
    """Count and multiplier as the mill writes them, the twist that follows, and what contraction makes of both.

    ``delivered`` is the turns for each metre that the front rollers deliver, ``strand_count`` the count there.
    """

    count: Figure
    multiplier: Figure
    twist: Figure
    contraction: Figure
    delivered: Figure
    strand_count: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftPlan:
    """Drafts of the rollers with contraction; ``by_counts`` is roving count over yarn count, without it."""

    roving_count: Figure
    total: Figure
    by_counts: Figure
    break_draft: Figure
    main: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Speed:
    """A spindle speed with the front rollers' delivery at it."""

    spindle: Figure
    delivery: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Speeds:
    """Speeds through the doff; ``mean`` is the mean over the doff's spinning time."""

    start: Speed
    base: Speed
    main: Speed
    tip: Speed
    mean: Speed


@dataclass(frozen=True, slots=True, kw_only=True)
class Production:
    """Yarn made at the mean speed with the efficiency taken off: for a spindle, a frame, and a frame's shift."""

    efficiency: Figure
    shift_length: Figure
    spindles: Figure
    per_spindle: Figure
    per_frame: Figure
    per_frame_shift: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class DoffPlan:
    """A full cop and the time to fill it: spinning without a stop, and with the stops that the efficiency covers."""

    content: Figure
    yarn_length: Figure
    spinning_time: Figure
    time_with_stops: Figure
    per_shift: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class RovingPlan:
    """What a spindle draws from the creel, one roving to a spindle, no waste reckoned, stops taken into account.

    ``feed_speed`` is at the back rollers while the spindle runs at its mean speed.
    """

    consumption: Figure
    feed_speed: Figure
    bobbin_mass: Figure
    run_out_time: Figure
    bobbins_per_shift: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class FibrePlan:
    """Fibres in the yarn's section, the fewest for its process, and the finest count that these fibres then allow."""

    in_section: Figure
    fewest: Figure
    finest_count: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class TravellerPlan:
    """The traveller that is set, the usual ones for the count, and its motion at main speed on bare tube and full cop.

    ``usual_lightest`` and ``usual_heaviest`` are None where the printed table does not reach the count.
    """

    mass: Figure
    usual_lightest: Figure | None
    usual_heaviest: Figure | None
    tube_diameter: Figure
    cop_diameter: Figure
    speed_on_tube: Figure
    speed_on_cop: Figure
    lag_on_tube: Figure
    lag_on_cop: Figure
    missing_twist_on_tube: Figure
    missing_twist_on_cop: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderPlan:
    """Frames for an order: the whole number, the exact one, the time these frames take, and the roving they draw."""

    mass: Figure
    time: Figure
    frames: Figure
    exact_frames: Figure
    time_taken: Figure
    roving_bobbins: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The spin plan; everything but ``wheels.as_geared`` is for count and twist as planned. Notes are sentences.

    A frame has either ``wheels`` to change or, where drafts and twist are set electronically, values ``to_set``.
    """

    mill: str
    frame: str
    yarn: str
    setting: str
    roving: str
    traveller: str
    twist: TwistPlan
    draft: DraftPlan
    wheels: Wheels | None
    to_set: ToSet | None
    speeds: Speeds
    production: Production
    doff: DoffPlan
    roving_supply: RovingPlan
    fibres: FibrePlan
    traveller_motion: TravellerPlan
    order: OrderPlan | None
    notes: tuple[str, ...] = ()
