"""One way to state a field of the mill: its quantity, meaning, allowed range, and default with origin and source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pydantic import Field

from ringwright.refusal import Fault, Refusal
from ringwright.units import QUANTITIES, from_unit, parse, show

if TYPE_CHECKING:
    from pydantic import BaseModel

__all__ = ["ORIGINS", "Stated", "plain_field", "quantity_field", "read_value", "stated"]

ORIGINS = ("measured", "assumed", "common practice")
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Stated:
    """What is stated of a field: quantity and unit ("" for a text), range in that unit, meaning, default's origin."""

    meaning: str
    quantity: str = ""
    unit: str = ""
    range: tuple[float, float] = (0.0, 0.0)
    origin: str = ""
    note: str = ""

    def in_words(self) -> str:
        """Say the allowed range with units as people write them."""
        ends = [from_unit(float(end), self.quantity, self.unit) for end in self.range]
        low, high = (show(end, self.quantity, self.unit) for end in ends)
        return f"from {low} to {high}"

    def allows(self, value: float) -> bool:
        """Tell whether an SI value lies in the range, ends included."""
        low, high = sorted(from_unit(float(end), self.quantity, self.unit) for end in self.range)
        return low - _ROUNDING * abs(low) <= value <= high + _ROUNDING * abs(high)


def quantity_field(
    quantity: str,
    unit: str,
    allowed: tuple[float, float],
    meaning: str,
    *,
    default: float | None = None,
    optional: bool = False,
    origin: str = "",
    note: str = "",
) -> Any:  # noqa: ANN401 - pydantic's own Field gives Any
    """State a field that is a quantity; range and default are numbers of the unit, the field's value is SI.

    An ``optional`` field left out is None.
    """
    extra: dict[str, Any] = {"quantity": quantity, "unit": unit, "range": list(allowed), "origin": origin, "note": note}
    if default is None and optional:
        return Field(default=None, description=meaning, json_schema_extra=extra)
    if default is None:
        return Field(description=meaning, json_schema_extra=extra)
    # A number of things stays whole, so that a field of whole numbers holds one.
    whole = quantity == "ratio" and isinstance(default, int)
    value = default if whole else from_unit(float(default), quantity, unit)
    return Field(default=value, description=meaning, json_schema_extra=extra)


def plain_field(meaning: str, *, origin: str = "", note: str = "", **default: Any) -> Any:  # noqa: ANN401
    """State a field that is a text, a choice, a switch or a table; ``default`` is pydantic's own argument."""
    return Field(description=meaning, json_schema_extra={"origin": origin, "note": note}, **default)


def stated(table: type[BaseModel], name: str) -> Stated:
    """Give what is stated of a field; KeyError if the table has no such field."""
    field = table.model_fields[name]
    extra: dict[str, Any] = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    low, high = extra.get("range", (0.0, 0.0))
    words = {key: extra.get(key, "") for key in ("quantity", "unit", "origin", "note")}
    return Stated(meaning=field.description or "", range=(low, high), **words)


def read_value(given: object, field: Stated, *, written: bool) -> float:
    """Read a value of a stated quantity into SI and hold it against its range; Refusal if it cannot be.

    ``written`` values come from a file and need their unit; else a bare number is SI already.
    """
    bare = isinstance(given, int | float) and not isinstance(given, bool)
    try:
        value = float(given) if bare and not written else parse(given, field.quantity, "")  # type: ignore[arg-type]
    except Refusal as refusal:
        raise Refusal([_with_range(fault, field) for fault in refusal.faults]) from None
    if not field.allows(value):
        shown = f'"{given}"' if isinstance(given, str) else show(value, field.quantity, field.unit)
        wants = f"{field.in_words()} ({field.meaning})"
        raise Refusal(Fault(where="", got=shown, wants=wants, mend=_other_unit(given, field)))
    return value


def _with_range(fault: Fault, field: Stated) -> Fault:
    """Add the range to a fault of the unit."""
    return Fault(where=fault.where, got=fault.got, wants=f"{fault.wants}, {field.in_words()}", mend=fault.mend)


def _other_unit(given: object, field: Stated) -> str:
    """Name the one other unit in which the same figure would be allowed, if there is exactly one."""
    figure = "".join(sign for sign in str(given) if sign.isdigit() or sign in ".-")
    try:
        number = float(figure)
    except ValueError:
        return ""
    if number <= 0:
        return ""
    units = [unit.symbol for unit in QUANTITIES[field.quantity].units]
    fitting = [unit for unit in units if field.allows(from_unit(number, field.quantity, unit))]
    return f'Did you mean "{figure} {fitting[0]}"?' if len(fitting) == 1 and fitting[0] != "1" else ""
