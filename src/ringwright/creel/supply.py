"""What the creel of a frame must supply to a yarn: strand speed, roving for each doff, and how long a bobbin lasts."""

from __future__ import annotations

from dataclasses import dataclass

from ringwright.mill import Frame, Mill, Roving, Yarn
from ringwright.mill.setting import SPEEDS, Setting
from ringwright.physics.production import production_rate
from ringwright.physics.roving import roving_consumption, run_out_time
from ringwright.physics.twist import twist
from ringwright.setting.plan import spin_plan

__all__ = ["Supply", "supply_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """What one frame with one yarn draws from its creel.

    ``feed_speed`` [m/s] is a strand's at the back rollers at the highest speed of the doff; ``consumption`` [kg/s] is
    a bobbin's with all stops in it; ``doff_cycle`` [s] from doff to doff with all stops; ``per_doff`` [kg] is drawn
    from a bobbin in it; ``run_out`` [s] is what a full bobbin lasts. ``bobbins`` hang in the creel.
    """

    frame: Frame
    yarn: Yarn
    roving: Roving
    setting: Setting
    bobbins: int
    feed_speed: float
    consumption: float
    doff_cycle: float
    per_doff: float
    run_out: float


def supply_of(mill: Mill, frame_name: str, yarn_name: str) -> Supply:
    """Tell what a frame with a yarn draws; no waste is reckoned, as in the spin plan.

    Raises Refusal as ``spin_plan`` for an unknown frame, yarn or setting.
    """
    plan = spin_plan(mill, frame_name, yarn_name)
    frame, yarn = mill.frames[frame_name], mill.yarns[yarn_name]
    setting, roving = mill.settings[plan.setting], mill.rovings[plan.roving]
    strands = int(frame.creel.bobbins_per_spindle)
    quickest = max(getattr(setting, name) for name in SPEEDS)
    at_most = production_rate(quickest, twist(yarn.twist_multiplier, yarn.count), yarn.count)
    drawn = roving_consumption(plan.production.per_spindle.value) / strands
    cycle = plan.doff.time_with_stops.value
    return Supply(
        frame=frame, yarn=yarn, roving=roving, setting=setting, bobbins=int(frame.spindles) * strands,
        feed_speed=at_most / strands / roving.count, consumption=drawn, doff_cycle=cycle, per_doff=drawn * cycle,
        run_out=run_out_time(roving.bobbin_mass, drawn),
    )  # fmt: skip
