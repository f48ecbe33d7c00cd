"""What a mill says about centring: its tolerances, its gauge, the eyelet, and how its people work."""

from typing import Literal

from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.table import Table

__all__ = ["Centring"]


class Centring(Table):
    """Tolerances of ring, thread guide and control ring against the spindle, and how centring is read and mended."""

    ring_tolerance: float = quantity_field(
        "length", "mm", (0.02, 2), "how far the ring's centre may stand off the spindle's axis",
        default=0.15, origin="common practice", note="0.15 mm, 0.1 mm at high speed, from memory, no source",
    )  # fmt: skip
    guide_tolerance: float = quantity_field(
        "length", "mm", (0.05, 4), "how far the thread guide's aim may stand off the spindle's axis",
        default=0.5, origin="common practice", note="0.5 mm, 0.25 mm for fine yarns, from memory, no source",
    )  # fmt: skip
    control_ring_tolerance: float = quantity_field(
        "length", "mm", (0.05, 5), "how far the control ring's centre may stand off the spindle's axis",
        default=0.75, origin="common practice", note="0.5 mm to 1 mm, from memory, no source",
    )  # fmt: skip
    gauge_repeatability: float = quantity_field(
        "length", "mm", (0.001, 1), "standard deviation of one reading of the gauge along one axis",
        default=0.03, origin="assumed", note="no mill reading; read 20 spindles twice to know it",
    )  # fmt: skip
    eyelet_bore: float = quantity_field(
        "length", "mm", (0.5, 10), "inside width of the thread guide's eyelet",
        default=3, origin="assumed", note="no mill reading",
    )  # fmt: skip
    moved: Literal["spindle", "ring"] = plain_field(
        "which of the two is moved to bring spindle and ring together",
        default="spindle", origin="common practice", note="the spindle's bolster in its rail, from memory",
    )  # fmt: skip
    numbers_rise: Literal["to the right", "to the left"] = plain_field(
        "where the spindle numbers rise for a person who stands before side 1; on side 2 they rise the other way",
        default="to the right", origin="assumed", note="no mill reading",
    )  # fmt: skip
    spindles_per_stop: float = quantity_field(
        "ratio", "1", (1, 500), "how many spindles are centred in one stop of the frame",
        default=20, origin="assumed", note="no mill reading",
    )  # fmt: skip
    minutes_per_spindle: float = quantity_field(
        "time", "min", (0.5, 60), "how long it takes to centre one spindle and read it again",
        default=4, origin="assumed", note="no mill reading",
    )  # fmt: skip
    share_outside: float = quantity_field(
        "share", "%", (0.1, 50), "share of the spindles outside a tolerance at which a new round is due",
        default=5, origin="assumed", note="our own choice",
    )  # fmt: skip
