"""What the frame draws beside the yarn: figures that no drawing of the spinning position can give."""

from ringwright.mill.field import quantity_field
from ringwright.mill.table import Table

__all__ = ["Power"]


class Power(Table):
    """Power of one spindle's share of the frame, in addition to what the yarn and the air on the package take."""

    bare_spindle: float = quantity_field(
        "power", "W", (0.5, 60), "power of one bare spindle with its bolster and its share of tape or belt",
        default=9, origin="assumed", note="no mill reading; some 6 W to 12 W at 16 000 rpm, from memory",
    )  # fmt: skip
    bare_spindle_speed: float = quantity_field(
        "rotation", "rpm", (1000, 35000), "spindle speed at which that power was read",
        default=16000, origin="assumed", note="goes with the default of bare_spindle",
    )  # fmt: skip
    bare_spindle_exponent: float = quantity_field(
        "ratio", "1", (1, 3), "power of the speed with which the bare spindle's power grows",
        default=1.75, origin="assumed", note="1.5 to 2, from memory",
    )  # fmt: skip
    drafting: float = quantity_field(
        "power", "W", (0, 20), "power of one spindle's share of rollers, gearing and rails",
        default=1.5, origin="assumed", note="no mill reading; taken to grow with the spindle's speed",
    )  # fmt: skip
    drafting_speed: float = quantity_field(
        "rotation", "rpm", (1000, 35000), "spindle speed at which that power was read",
        default=16000, origin="assumed", note="goes with the default of drafting",
    )  # fmt: skip
    suction: float = quantity_field(
        "power", "W", (0, 20), "power of one spindle's share of the fans for broken ends and the cleaner",
        default=2.5, origin="assumed", note="no mill reading",
    )  # fmt: skip
    efficiency: float = quantity_field(
        "share", "%", (50, 100), "share of the power drawn from the mains that reaches the shafts",
        default=90, origin="assumed", note="motor and inverter, from memory",
    )  # fmt: skip
    hairiness: float = quantity_field(
        "ratio", "1", (0.8, 2), "air drag of the wound cop, as a multiple of that of a smooth cylinder",
        default=1.25, origin="common practice", note="cotton about a quarter more, Tang-2006 (abstract)",
    )  # fmt: skip
