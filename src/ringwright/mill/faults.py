"""Turn what pydantic finds wrong with a table into faults that name file, line and key."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, get_args

from pydantic import ValidationError

from ringwright.mill.field import read_value, stated
from ringwright.mill.rule import breaches
from ringwright.mill.table import Table, table_of
from ringwright.refusal import Fault, Refusal, nearest

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic_core import ErrorDetails

    from ringwright.mill.texts import Text

__all__ = ["told_faults"]

Path = tuple[str, ...]


def told_faults(
    error: ValidationError, table: type[Table], given: Mapping[str, Any], text: Text, at: Path
) -> list[Fault]:
    """Tell every error of a table that stands at a path of a text, with the rules that its readable values break."""
    faults = []
    for detail in error.errors(include_url=False):
        loc = tuple(str(part) for part in detail["loc"])
        faults += [_placed(fault, text, at, loc) for fault in _from_detail(detail, table, loc)]
    numbers = _readable(table, given)
    for fault in breaches(table.rules, numbers.get):
        placed = _placed(fault, text, at, ())
        if placed not in faults:
            faults.append(placed)
    return faults


def _placed(fault: Fault, text: Text, at: Path, loc: Path) -> Fault:
    """Put file, line and key before a fault."""
    path = (*at, *loc, *(fault.where.split(".") if fault.where else ()))
    return Fault(where=text.where(path), got=fault.got, wants=fault.wants, mend=fault.mend)


def _from_detail(detail: ErrorDetails, table: type[Table], loc: Path) -> list[Fault]:
    """Tell one error."""
    reason = detail.get("ctx", {}).get("error")
    if isinstance(reason, Refusal):
        return list(reason.faults)
    owner = _owner(table, loc)
    kind, given = detail["type"], detail["input"]
    if kind == "missing":
        return [Fault(where="", got="missing", wants=_wanted(owner, loc[-1]))]
    if kind == "extra_forbidden":
        names = [name for name in owner.model_fields if name != "name"] if owner else []
        return [
            Fault(where="", got="not a known key", wants=f"one of {', '.join(names)}", mend=nearest(loc[-1], names))
        ]
    if kind == "literal_error" and owner is not None:
        return [_choice(given, get_args(owner.model_fields[loc[-1]].annotation))]
    return [Fault(where="", got=_short(given), wants=_TYPES.get(kind, detail["msg"].lower()))]


_TYPES = {
    "string_type": "a text in quotation marks",
    "bool_type": "true or false, without quotation marks",
    "bool_parsing": "true or false, without quotation marks",
    "int_from_float": "a whole number",
    "int_type": "a whole number",
    "model_type": "a table",
    "model_attributes_type": "a table",
    "dict_type": "a table",
    "tuple_type": "a list",
}


def _choice(given: object, choices: tuple[str, ...]) -> Fault:
    """Tell a word that is none of the choices."""
    mend = nearest(str(given), choices)
    wants = "one of " + ", ".join(f'"{choice}"' for choice in choices)
    return Fault(where="", got=_short(given), wants=wants, mend=mend if mend.startswith("Did") else "")


def _wanted(owner: type[Table] | None, key: str) -> str:
    """Say what a missing key must hold."""
    if owner is None or key not in owner.model_fields:
        return "written"
    field = stated(owner, key)
    return f"written: {field.meaning}" + (f", {field.in_words()}" if field.quantity else "")


def _owner(table: type[Table], loc: Path) -> type[Table] | None:
    """Find the table that holds the last key of a location."""
    owner: type[Table] | None = table
    for key in loc[:-1]:
        if key.isdigit() or owner is None:
            continue
        field = owner.model_fields.get(key)
        owner = table_of(field.annotation, inside_lists=True) if field else None
    return owner


def _readable(table: type[Table], given: Mapping[str, Any]) -> dict[str, float]:
    """Read every quantity of a table that can be read by itself, by dotted key, defaults filled in."""
    numbers: dict[str, float] = {}
    for name, field in table.model_fields.items():
        inner, value = table_of(field.annotation), given.get(name)
        if inner is not None and isinstance(value, dict):
            numbers |= {f"{name}.{key}": number for key, number in _readable(inner, value).items()}
        elif stated(table, name).quantity and value is None and isinstance(field.default, int | float):
            numbers[name] = float(field.default)
        elif stated(table, name).quantity and value is not None:
            try:
                number = read_value(value, stated(table, name), written=True)
            except Refusal:
                continue
            if field.annotation is not int or number.is_integer():
                numbers[name] = number
    return numbers


def _short(given: object) -> str:
    """Show a value in a sentence, not over forty signs."""
    text = f'"{given}"' if isinstance(given, str) else "a table" if isinstance(given, dict) else str(given)
    return text if len(text) <= 42 else f"{text[:39]}..."
