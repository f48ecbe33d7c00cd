"""What to set on a frame whose drafts and twist are set electronically, without change wheels."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ringwright.mill import Frame
from ringwright.physics.contraction import machine_twist
from ringwright.physics.draft import main_draft
from ringwright.physics.production import delivery_speed
from ringwright.setting.figure import Figure, computed
from ringwright.setting.wheels import Wish

__all__ = ["ToSet", "values_to_set"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToSet:
    """The values to set: drafts of the rollers, twist in the yarn and for each metre delivered, and how they turn.

    ``turns_of_spindle`` are those for one turn of the front roller, ``front_roller`` its speed at main speed,
    ``back_roller`` that of the back roller then. Nothing is rounded to a wheel, so no error is left but the frame's.
    """

    total_draft: Figure
    break_draft: Figure
    main_draft: Figure
    twist: Figure
    delivered: Figure
    turns_of_spindle: Figure
    front_roller: Figure
    back_roller: Figure


def values_to_set(frame: Frame, wish: Wish, main_speed: float) -> ToSet:
    """Give what to set for a wish at a spindle's main speed [rad/s].

    A roller of diameter d delivers pi d for each turn, so the front roller turns with v / (pi d) and takes pi d times
    the delivered twist in turns of the spindle. Geometry.
    """
    rollers = frame.drafting
    delivered = machine_twist(wish.twist, wish.contraction)
    speed = delivery_speed(main_speed, wish.twist, wish.contraction)
    front, back = rollers.front_roller_diameter, rollers.back_roller_diameter
    return ToSet(
        total_draft=computed(wish.total_draft, "ratio", "", "Lord-2003"),
        break_draft=computed(wish.break_draft, "ratio", ""),
        main_draft=computed(main_draft(wish.total_draft, wish.break_draft), "ratio", "", "Lord-2003"),
        twist=computed(wish.twist, "twist", "t/m", "twist-notes"),
        delivered=computed(delivered, "twist", "t/m", "study-cards"),
        turns_of_spindle=computed(delivered * pi * front, "ratio", ""),
        front_roller=computed(2 * speed / front, "rotation", "rpm", "Klein-1987"),
        back_roller=computed(2 * speed / wish.total_draft / back, "rotation", "rpm", "Lord-2003"),
    )
