"""The mill file told key by key, from the models themselves, for the reference page and the starter's comments."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args, get_origin

from ringwright.mill.creel import Creeling
from ringwright.mill.field import Stated, stated
from ringwright.mill.limit import KNOWN_LIMITS
from ringwright.mill.mill import Mill
from ringwright.mill.money import Money
from ringwright.mill.power import Power
from ringwright.mill.reading import KINDS
from ringwright.mill.table import Table, table_of
from ringwright.mill.yarn import Fibre
from ringwright.units import show, units_as_written

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

__all__ = ["ReferenceRow", "reference", "rules_in_words", "tables"]

_STORES = {store for _, store in KINDS.values()}


@dataclass(frozen=True, slots=True)
class ReferenceRow:
    """One key: its table, meaning, the units it may be written in, allowed range, default and the default's origin."""

    table: str
    key: str
    meaning: str
    units: str
    range: str
    default: str
    origin: str


def reference() -> list[ReferenceRow]:
    """List every key that a mill file may hold, in the order of the models."""
    rows = []
    for heading, table in tables().items():
        for name, field in table.model_fields.items():
            if heading.startswith("limits.") and name == "value":
                rows.append(_row(heading, name, field, KNOWN_LIMITS[heading.removeprefix("limits.")]))
            elif _is_written(table, name):
                rows.append(_row(heading, name, field, stated(table, name)))
    return rows


def rules_in_words() -> list[str]:
    """List the rules between the keys of one table, each as a sentence with its table."""
    return [f"[{heading}] {rule.in_words()}" for heading, table in tables().items() for rule in table.rules]


def tables() -> dict[str, type[Table]]:
    """Give every table of a mill file by its heading; NAME stands for the name that the mill gives."""
    found: dict[str, type[Table]] = {
        "mill": Mill, "mill.money": Money, "mill.power": Power, "mill.creeling": Creeling,
    }  # fmt: skip
    for kind, (model, _) in KINDS.items():
        if kind == "limits":
            found |= {f"limits.{name}": model for name in KNOWN_LIMITS}
        else:
            found |= _with_inner(f"{kind}.NAME", model)
    return found


def _with_inner(heading: str, table: type[Table]) -> dict[str, type[Table]]:
    """Give a table with the tables inside it."""
    found = {heading: table}
    for name, field in table.model_fields.items():
        inner = table_of(field.annotation, inside_lists=True)
        if inner is not None:
            found |= _with_inner(f"{heading}.{name}", inner)
    return found


def _is_written(table: type[Table], name: str) -> bool:
    """Tell whether a person writes the field as a key: not the heading's name, not a table of its own."""
    if name == "name":
        return table in {Mill, Fibre}
    return name not in _STORES and table_of(table.model_fields[name].annotation, inside_lists=True) is None


def _row(heading: str, name: str, field: FieldInfo, told: Stated) -> ReferenceRow:
    """Tell one key."""
    return ReferenceRow(
        table=heading,
        key=name,
        meaning=told.meaning,
        units=units_as_written(told.quantity) if told.quantity else "",
        range=told.in_words() if told.quantity else _choices(field.annotation),
        default=_default(field, told),
        origin=", ".join(part for part in (told.origin, told.note) if part) if not field.is_required() else "",
    )


def _choices(annotation: object) -> str:
    """Say the choices of a field that is not a quantity."""
    if get_origin(annotation) is Literal:
        return "one of " + ", ".join(f'"{choice}"' for choice in get_args(annotation))
    return "true or false" if annotation is bool else ""


def _default(field: FieldInfo, told: Stated) -> str:
    """Show the default as a person would write it; "required" without one."""
    if field.is_required():
        return "required"
    if field.default is None or field.default_factory is not None:
        return "may be left out"
    if told.quantity:
        return show(field.default, told.quantity, told.unit)
    return str(field.default).lower() if isinstance(field.default, bool) else f'"{field.default}"'
