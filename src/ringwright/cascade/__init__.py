"""Separators: what a broken end does to its neighbours with and without the plate between, for one frame and yarn."""

from ringwright.cascade.card import card_line
from ringwright.cascade.clearance import Clearance, clearance_of
from ringwright.cascade.expected import Watch, chance_named, cluster_mean, extra_breaks, steps_to_name
from ringwright.cascade.plates import BENT, FITTED, MISSING, Plates, plates_of
from ringwright.cascade.spread import SideRun, run_side

__all__ = [
    "BENT", "FITTED", "MISSING", "Clearance", "Plates", "SideRun", "Watch", "card_line", "chance_named",
    "clearance_of", "cluster_mean", "extra_breaks", "plates_of", "run_side", "steps_to_name",
]  # fmt: skip
