"""The creel of a frame, and the hands and carts that keep the creels of the mill full."""

from typing import ClassVar

from ringwright.mill.field import quantity_field
from ringwright.mill.rule import Rule
from ringwright.mill.table import Table

__all__ = ["Creel", "Creeling"]

_NONE = "no mill reading"


class Creel(Table):
    """The creel of a frame: the bobbin's measures, its hanger, the strand's path, and what is allowed of it."""

    empty_diameter: float = quantity_field(
        "length", "mm", (15, 120), "outside diameter of the empty roving bobbin",
        default=48, origin="assumed", note=_NONE,
    )  # fmt: skip
    full_diameter: float = quantity_field(
        "length", "mm", (60, 250), "outside diameter of the full roving bobbin",
        default=152, origin="common practice", note="6 in, one of the sizes of SITRA-norms, table 32",
    )  # fmt: skip
    traverse: float = quantity_field(
        "length", "mm", (100, 500), "length of the bobbin that is wound",
        default=305, origin="common practice", note="12 in, one of the sizes of SITRA-norms, table 32",
    )  # fmt: skip
    tube_mass: float = quantity_field(
        "mass", "kg", (0.02, 1.5), "mass of the empty bobbin", default=0.25, origin="assumed", note=_NONE
    )
    bobbins_per_spindle: int = quantity_field(
        "ratio", "1", (1, 2), "rovings that run together to one spindle",
        default=1, origin="common practice", note="one unless it is written",
    )  # fmt: skip
    bearing_diameter: float = quantity_field(
        "length", "mm", (2, 40), "diameter of the hanger's bearing", default=12, origin="assumed", note=_NONE
    )
    bearing_friction: float = quantity_field(
        "ratio", "1", (0.0005, 0.5), "coefficient of friction of the hanger's bearing",
        default=0.01, origin="assumed",
        note="0.0013 for a clean thrust ball bearing (bearing-tables); taken as more with fly and old grease",
    )  # fmt: skip
    breakaway: float = quantity_field(
        "ratio", "1", (1, 3), "torque that starts the hanging bobbin, as a multiple of that which keeps it turning",
        default=1.5, origin="assumed", note="up to twice when bearings start (bearing-tables)",
    )  # fmt: skip
    brake_torque: float = quantity_field(
        "torque", "mN m", (0, 200), "torque of the brake on the hanging bobbin", default=1, origin="assumed", note=_NONE
    )
    take_off_angle: float = quantity_field(
        "angle", "°", (0, 360), "angle through which the roving is turned over the guide rods on its way",
        default=70, origin="assumed", note=_NONE,
    )  # fmt: skip
    guide_friction: float = quantity_field(
        "ratio", "1", (0.02, 0.8), "coefficient of friction between roving and guide rod",
        default=0.25, origin="assumed", note=_NONE,
    )  # fmt: skip
    free_length: float = quantity_field(
        "length", "mm", (50, 3000), "length of roving from the bobbin to the back rollers",
        default=600, origin="assumed", note=_NONE,
    )  # fmt: skip
    start_time: float = quantity_field(
        "time", "s", (0.05, 120), "time in which the back rollers reach their speed when the frame starts",
        default=4, origin="assumed", note=_NONE,
    )  # fmt: skip
    stop_time: float = quantity_field(
        "time", "s", (0, 120), "time in which the back rollers come to rest when the frame stops at its quickest",
        default=1, origin="assumed", note=_NONE,
    )  # fmt: skip
    slack_allowed: float = quantity_field(
        "length", "mm", (0.5, 300), "slack roving that may hang down after a stop",
        default=10, origin="assumed", note=_NONE,
    )  # fmt: skip
    disturbing_torque: float = quantity_field(
        "torque", "mN m", (0, 50), "torque of air jets and knocks that must not turn a bobbin by itself",
        default=0.5, origin="assumed", note=_NONE,
    )  # fmt: skip
    count_allowance: float = quantity_field(
        "share", "%", (0.02, 10), "change of the roving's count that the creel may make",
        default=0.3, origin="assumed", note=_NONE,
    )  # fmt: skip
    cohesion_share: float = quantity_field(
        "share", "%", (2, 95), "share of the cohesion of a weak place that the tension may reach",
        default=30, origin="assumed", note=_NONE,
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = (
        Rule(
            "full_diameter", "at least", ("empty_diameter",), lambda empty: empty + 5e-3,
            "the empty bobbin's diameter and 5 mm more",
        ),
    )  # fmt: skip


class Creeling(Table):
    """The people, carts and stores that keep the creels of all frames full, and the people who doff."""

    creelers: int = quantity_field(
        "ratio", "1", (1, 100), "people who creel at one time, for all frames", default=1, origin="assumed", note=_NONE
    )
    time_per_bobbin: float = quantity_field(
        "time", "s", (3, 900), "time to change one bobbin and piece its roving, with the steps in between",
        default=30, origin="assumed", note=_NONE,
    )  # fmt: skip
    creeling_share: float = quantity_field(
        "share", "%", (10, 100), "share of the shift in which a creeler creels; the rest is rest, cleaning, other work",
        default=75, origin="assumed", note=_NONE,
    )  # fmt: skip
    doffing_crews: int = quantity_field(
        "ratio", "1", (1, 100), "frames that can be doffed at one time", default=1, origin="assumed", note=_NONE
    )
    carts: int = quantity_field(
        "ratio", "1", (1, 100), "carts that bring bobbins, each with someone to push it",
        default=1, origin="assumed", note=_NONE,
    )  # fmt: skip
    cart_size: int = quantity_field(
        "ratio", "1", (1, 2000), "full bobbins on one cart", default=96, origin="assumed", note=_NONE
    )
    trip_time: float = quantity_field(
        "time", "min", (0.5, 240), "time of one trip: fetch full bobbins, take empties back",
        default=12, origin="assumed", note=_NONE,
    )  # fmt: skip
    floor_store: int = quantity_field(
        "ratio", "1", (1, 100000), "full bobbins that can stand ready beside the frames",
        default=240, origin="assumed", note=_NONE,
    )  # fmt: skip
    renewal_reserve: float = quantity_field(
        "share", "%", (0, 40), "share of a full bobbin that should be left when it is renewed, so that none runs empty",
        default=3, origin="assumed", note=_NONE,
    )  # fmt: skip
    content_cv: float = quantity_field(
        "share", "%", (0, 20), "coefficient of variation of the roving on a full bobbin",
        default=1, origin="assumed", note=_NONE,
    )  # fmt: skip
    week_length: float = quantity_field(
        "time", "h", (1, 168), "hours that the frames run in a week", default=144, origin="assumed",
        note="six days of 24 h",
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = (
        Rule("cart_size", "at most", ("floor_store",), lambda store: store, "the floor store, where a cart is emptied",
             ("ratio", "1")),
    )  # fmt: skip
