"""The staggered renewal plan: in which doff which spindles get full bobbins, so that renewals are even."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor

from ringwright.creel.supply import Supply
from ringwright.mill.creel import Creeling
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

__all__ = ["Group", "RenewalPlan", "renewal_plan"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Spindles ``first`` to ``last``, numbered through the frame, renewed in the doff of this place in the cycle."""

    doff: int
    first: int
    last: int

    @property
    def spindles(self) -> int:
        """How many spindles the group has."""
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class RenewalPlan:
    """The cycle of renewals of one frame: after ``cycle`` doffs the same spindles are renewed again.

    ``remnant`` [kg] is left on a bobbin when it is renewed; ``to_renew`` bobbins a shift, with ``stripped`` [kg] of
    remnants, ``trips`` of a cart and ``work`` [s] of hands, its rest and other work not counted.
    ``at_once`` [s] is what one hand would need if all bobbins were renewed together, ``reserve`` [s] how long the
    remnant lasts. ``first_round`` [kg] is what the early renewals take off that stagger a creel hung all at once.
    """

    supply: Supply
    cycle: int
    groups: tuple[Group, ...]
    remnant: float
    to_renew: float
    stripped: float
    trips: float
    work: float
    at_once: float
    reserve: float
    first_round: float


def renewal_plan(supply: Supply, creeling: Creeling, shift_length: float) -> RenewalPlan:
    """Plan the renewals of a frame in whole doffs: as many doffs as a bobbin lasts with its reserve left.

    Groups are neighbours, even to within one spindle. Refusal where a bobbin lasts less than one doff.
    """
    spindles = int(supply.frame.spindles)
    mass = supply.roving.bobbin_mass
    cycle = floor(mass * (1 - creeling.renewal_reserve) / supply.per_doff * (1 + 1e-12))
    if cycle < 1:
        raise Refusal(
            Fault(
                where=f"roving.{supply.roving.name}.bobbin_mass", got=show(mass, "mass", "kg"),
                wants=f"at least {show(supply.per_doff / (1 - creeling.renewal_reserve), 'mass', 'kg')}, one doff's "
                f"roving and the reserve, on {supply.frame.name}",
                mend="Use fuller bobbins, or doff smaller cops.",
            )
        )  # fmt: skip
    parts = min(cycle, spindles)
    ends = [k * spindles // parts for k in range(parts + 1)]
    groups = tuple(Group(doff=k * cycle // parts, first=ends[k] + 1, last=ends[k + 1]) for k in range(parts))
    renewed = shift_length / (cycle * supply.doff_cycle) * supply.bobbins
    remnant = mass - cycle * supply.per_doff
    per_bobbin = creeling.time_per_bobbin
    return RenewalPlan(
        supply=supply, cycle=cycle, groups=groups, remnant=remnant, to_renew=renewed, stripped=renewed * remnant,
        trips=renewed / creeling.cart_size, work=renewed * per_bobbin,
        at_once=supply.bobbins * per_bobbin / creeling.creeling_share, reserve=remnant / supply.consumption,
        first_round=sum(
            one.spindles * (supply.bobbins // spindles) * (mass - (one.doff + 1) * supply.per_doff) for one in groups
        ),
    )  # fmt: skip
