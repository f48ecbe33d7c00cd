"""Roving: what a spindle draws from the creel, how long a bobbin lasts, what a bobbin holds."""

from __future__ import annotations

from ringwright.physics.constants import ROVING_CONTENT
from ringwright.physics.real import Real

__all__ = ["back_roller_speed", "roving_consumption", "roving_content", "roving_feed", "run_out_time"]


def roving_consumption(production_rate: Real, waste: float = 0.0) -> Real:
    """Return the roving one spindle draws [kg/s] from its yarn production [kg/s] and its waste share [1] of the roving.

    Mass balance: roving in = yarn out + waste, so roving = yarn / (1 - waste).
    """
    return production_rate / (1 - waste)


def back_roller_speed(delivery_speed: Real, total_draft: Real) -> Real:
    """Return the back rollers' surface speed [m/s] from the front rollers' [m/s] and the total draft [1]."""
    return delivery_speed / total_draft


def roving_feed(back_roller_speed: Real, roving_linear_density: Real) -> Real:
    """Return the roving fed while the spindle runs [kg/s], from back roller speed [m/s] and linear density [kg/m]."""
    return back_roller_speed * roving_linear_density


def run_out_time(bobbin_mass: Real, roving_consumption: Real) -> Real:
    """Return how long a roving bobbin [kg of roving] lasts [s] at a consumption [kg/s]."""
    return bobbin_mass / roving_consumption


def roving_content(lift: Real, full_diameter: Real) -> Real:
    """Return the roving on a full bobbin [kg] from its lift [m] and full diameter [m].

    content in kg = 3 L D^2 / 1000, L and D in inches. Range: lifts 10 to 14 in, diameters 4.5 to 7 in, where it keeps
    to the printed table within half of its last step but for one row. Source: SITRA Norms, Table 32.
    """
    return float(ROVING_CONTENT) * lift * full_diameter**2
