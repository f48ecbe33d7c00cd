"""What the worth of better parts rests on, in words."""

from __future__ import annotations

from ringwright.economy.counting import Counted
from ringwright.units import show_number

__all__ = ["COST_NOTE", "breaks_note"]

COST_NOTE = (
    "Every candidate tried that keeps the limits was priced, over a coarse doff; the cheapest ones again over the "
    "whole doff. A year is spinning_time_per_year of [mill.money]."
)


def breaks_note(counted: Counted | None) -> str:
    """Say what the break rates behind a cost rest on."""
    if counted is None:
        return (
            "Costs rest on the mill's prices and on a general break rate that is scaled by a model: read them as "
            "ratios until they are calibrated to your own counts (--counts)."
        )
    rate = f"{show_number(counted.rate, 1)} ({show_number(counted.low, 1)} to {show_number(counted.high, 1)}, 95 %)"
    slope = (
        "their growth with tension is that of strength tests"
        if counted.slope is None
        else f"they grow with tension to the power {show_number(counted.slope, 1)}, as counted"
    )
    return f"Breaks as set: {rate} per 1000 spindle hours from {counted.origin}; {slope}."
