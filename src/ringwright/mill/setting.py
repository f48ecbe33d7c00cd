"""Settings: what runs on which frame, at which speeds."""

from typing import ClassVar

from ringwright.mill.field import plain_field, quantity_field
from ringwright.mill.rule import Rule
from ringwright.mill.table import Entry

__all__ = ["SPEEDS", "Setting"]

SPEEDS = ("start_speed", "base_speed", "main_speed", "tip_speed")


class Setting(Entry):
    """One frame with one yarn: roving, traveller, speeds through the doff."""

    frame: str = plain_field("name of the frame")
    yarn: str = plain_field("name of the yarn")
    roving: str = plain_field("name of the roving")
    traveller: str = plain_field("name of the traveller")
    start_speed: float = quantity_field("rotation", "rpm", (1000, 30000), "spindle speed at the start of the doff")
    base_speed: float = quantity_field("rotation", "rpm", (1000, 30000), "spindle speed while the cop's base is built")
    main_speed: float = quantity_field("rotation", "rpm", (1000, 30000), "spindle speed over the cop's body")
    tip_speed: float = quantity_field("rotation", "rpm", (1000, 30000), "spindle speed at the end of the doff")
    base_until: float = quantity_field(
        "share", "%", (0, 60), "share of the doff's yarn at which the base ends and the main speed begins",
        default=10, origin="assumed", note="no source",
    )  # fmt: skip
    tip_from: float = quantity_field(
        "share", "%", (40, 100), "share of the doff's yarn from which the speed falls to the tip speed",
        default=90, origin="assumed", note="no source",
    )  # fmt: skip
    guide_fixed: bool = plain_field(
        "true if the thread guide does not travel with the rail",
        default=False, strict=True, origin="common practice", note="the guide travels unless it is written",
    )  # fmt: skip
    efficiency: float = quantity_field(
        "share", "%", (30, 100), "yarn made, as a share of what the frame would make without a stop",
        default=92, origin="common practice", note="90 % to 93 %, from memory",
    )  # fmt: skip

    rules: ClassVar[tuple[Rule, ...]] = (
        Rule("base_until", "at most", ("tip_from",), lambda tip: tip, "the share where the tip begins", ("share", "%")),
    )
