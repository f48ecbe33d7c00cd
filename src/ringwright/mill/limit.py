"""The limits that a mill holds its settings to."""

from typing import Any

from pydantic import ValidationInfo, field_validator

from ringwright.mill.field import ORIGINS, Stated, plain_field, read_value
from ringwright.mill.table import Table

__all__ = ["KNOWN_LIMITS", "Limit", "standing_limits"]

KNOWN_LIMITS: dict[str, Stated] = {
    "strength_share": Stated(
        "highest tension in the yarn, as a share of its mean strength", "share", "%", (1, 100),
        "common practice", "peak tension under 20 % to 25 % of mean strength, from memory",
    ),
    "traveller_speed": Stated(
        "highest speed of the traveller on the ring", "speed", "m/s", (5, 60),
        "common practice", "about 36 m/s to 42 m/s for combed cotton, from memory",
    ),
    "traveller_heat": Stated("highest rubbing power between one traveller and its ring", "power", "W", (0.1, 50)),
    "winding_share": Stated(
        "highest winding tension, as a share of the yarn's mean strength", "share", "%", (1, 100),
    ),
    "control_ring_heat": Stated("highest rubbing power of the yarn on its control ring", "power", "W", (0.01, 20)),
    "separator_room": Stated("least room between balloon and separator", "length", "mm", (0, 30)),
    "spindle_speed": Stated("highest spindle speed that the mill allows itself", "rotation", "rpm", (1000, 30000)),
    "drive_slip": Stated(
        "highest share of speed lost between drum and wharve", "share", "%", (0.1, 10),
        "common practice", "a tape is replaced when its spindles are 2 % to 3 % slow, from memory",
    ),
}  # fmt: skip

_STANDING = {"strength_share": 0.25, "traveller_speed": 40.0, "drive_slip": 0.03}


class Limit(Table):
    """One limit: its value in SI, where it comes from, and who answers for it."""

    name: str = plain_field("which limit it is")
    value: float = plain_field("the limit itself, with its unit")
    source: str = plain_field("where the limit comes from")
    owner: str = plain_field("who answers for it", default="not stated", origin="assumed", note="no one is named")

    @property
    def origin(self) -> tuple[str, str]:
        """The word of the source and its text; a source that names no other word is the mill's own reading."""
        word = next((word for word in ORIGINS if self.source.startswith(word)), "measured")
        return word, self.source.removeprefix(word).lstrip(" ,:")

    @field_validator("value", mode="before")
    @classmethod
    def _in_range(cls, given: Any, info: ValidationInfo) -> Any:  # noqa: ANN401 - any TOML value may stand there
        """Read the value by the quantity of the limit it belongs to."""
        field = KNOWN_LIMITS.get(info.data.get("name", ""))
        if field is None:
            return given
        return read_value(given, field, written=bool(info.context and info.context.get("written")))


def standing_limits() -> dict[str, Limit]:
    """Give the limits that hold where a mill writes none: common practice only; the others have no such value."""
    return {
        name: Limit(
            name=name,
            value=value,
            source=f"common practice, {KNOWN_LIMITS[name].note}",
            owner="common practice, not the mill's own",
        )
        for name, value in _STANDING.items()
    }
