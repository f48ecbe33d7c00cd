"""What a broken end does to its neighbours before it is pieced."""

from typing import ClassVar

from ringwright.mill.field import quantity_field
from ringwright.mill.rule import Rule
from ringwright.mill.table import Table

__all__ = ["Strikes"]


class Strikes(Table):
    """How often a broken end takes one neighbour along, by the state of the plate between, and how soon.

    No figure for any of these has been seen in print; a mill learns its own from its break records.
    """

    missing_share: float = quantity_field(
        "share", "%", (0, 95), "share of breaks that take the neighbour's end along where the plate is missing",
        default=50, origin="assumed", note="no figure in print; the demonstration's records are drawn with it",
    )  # fmt: skip
    bent_share: float = quantity_field(
        "share", "%", (0, 95), "the same where the plate is bent or too short",
        default=15, origin="assumed", note="no figure in print",
    )  # fmt: skip
    plate_share: float = quantity_field(
        "share", "%", (0, 50), "the same over a plate that is there and straight",
        default=0.1, origin="assumed", note="no figure in print",
    )  # fmt: skip
    delay: float = quantity_field(
        "time", "s", (0.1, 600), "mean time from a break until the neighbour's end follows",
        default=8, origin="assumed", note="no figure in print",
    )  # fmt: skip
    down_time: float = quantity_field(
        "time", "min", (0.2, 240), "mean time from a break until the end is pieced",
        default=7, origin="assumed", note="no mill reading",
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = (
        Rule("bent_share", "at most", ("missing_share",), lambda missing: missing, "the share where it is missing",
             ("share", "%")),
        Rule("plate_share", "at most", ("bent_share",), lambda bent: bent, "the share where it is bent",
             ("share", "%")),
        Rule("delay", "less than", ("down_time",), lambda down: down, "the time until it is pieced", ("time", "s")),
    )  # fmt: skip
