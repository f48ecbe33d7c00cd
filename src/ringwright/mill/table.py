"""The ground of every table of the mill: frozen, no unknown keys, quantities read with their units, rules checked."""

import re
from typing import Any, ClassVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator, model_validator

from ringwright.mill.field import ORIGINS, Stated, plain_field, read_value, stated
from ringwright.mill.rule import Rule, breaches
from ringwright.mill.spread import spread_fault
from ringwright.refusal import Fault, Refusal, nearest

__all__ = ["Entry", "Table", "keys_of", "number_at", "origin_faults", "stated_at", "table_of"]


class Table(BaseModel):
    """A table of the mill; values are SI. Texts such as "40 mm" are read; bare numbers are SI outside a file."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    rules: ClassVar[tuple[Rule, ...]] = ()

    @field_validator("*", mode="before")
    @classmethod
    def _read(cls, given: Any, info: ValidationInfo) -> Any:  # noqa: ANN401 - any TOML value may stand there
        """Read a quantity; leave other fields to their own type."""
        field = stated(cls, info.field_name or "")
        if not field.quantity or given is None:
            return given
        return read_value(given, field, written=bool(info.context and info.context.get("written")))

    @model_validator(mode="after")
    def _hold_rules(self) -> "Table":
        """Refuse the table with every rule it breaks."""
        faults = breaches(self.rules, lambda key: number_at(self, key))
        if faults:
            raise Refusal(faults)
        return self


class Entry(Table):
    """A table with a name that others refer to, and the origins of its values."""

    name: str = plain_field("the name, as it stands in the table's heading")
    origins: dict[str, str] = plain_field(
        'where values come from: a key = "measured", "assumed" or "common practice", with a note after a comma',
        default_factory=dict,
    )
    spread: dict[str, str] = plain_field(
        'how sure values are: a key = the two ends between which it lies nineteen times in twenty, as "0.08 to 0.13"',
        default_factory=dict,
    )

    @field_validator("name")
    @classmethod
    def _name_fits(cls, name: str) -> str:
        """Refuse names that cannot stand in a heading, on a card or in a file's name."""
        if not re.fullmatch(r"\w[\w.-]{0,39}", name):
            wants = "up to 40 letters, figures, dots, hyphens or underscores, with a letter or figure first"
            raise Refusal(Fault(where="", got=f'"{name}"', wants=wants, mend="Rename the table."))
        return name

    @model_validator(mode="after")
    def _origins_fit(self) -> "Entry":
        """Refuse origins of unknown keys, and unknown words."""
        faults = origin_faults(type(self), self.origins)
        if faults:
            raise Refusal(faults)
        return self

    @model_validator(mode="after")
    def _spread_fits(self) -> "Entry":
        """Refuse spreads of unknown keys, and ends that cannot be."""
        faults = []
        for key, text in self.spread.items():
            faults += spread_fault(key, text, stated_at(type(self), key), number_at(self, key))
        if faults:
            raise Refusal(faults)
        return self


def stated_at(table: type[Table], key: str) -> Stated | None:
    """Give what is stated of the field at a dotted key; None if there is no such field."""
    first, _, rest = key.partition(".")
    if first not in table.model_fields:
        return None
    inner = table_of(table.model_fields[first].annotation)
    if not rest:
        return stated(table, first)
    return stated_at(inner, rest) if inner is not None else None


def origin_faults(table: type[Table], origins: dict[str, str]) -> list[Fault]:
    """Give the faults of a table's origins: keys that it does not have, words that are none of the three."""
    keys = keys_of(table)
    faults = []
    for key, text in origins.items():
        where = f"origins.{key}"
        if key not in keys:
            wants = "a key of this table, with dots"
            faults.append(Fault(where=where, got="the origin of no known key", wants=wants, mend=nearest(key, keys)))
        if text.split(",", 1)[0].strip() not in ORIGINS:
            wants = f"one of {', '.join(ORIGINS)}, with a note after a comma if there is one"
            faults.append(Fault(where=where, got=f'"{text}"', wants=wants))
    return faults


def table_of(annotation: object, *, inside_lists: bool = False) -> type[Table] | None:
    """Give the table that a field holds, also when it may be left out (``X | None``); None for any other field."""
    if get_origin(annotation) in {tuple, dict} and not inside_lists:
        return None
    for part in (annotation, *get_args(annotation)):
        if isinstance(part, type) and issubclass(part, Table):
            return part
    return None


def keys_of(table: type[Table]) -> list[str]:
    """List the dotted keys of a table and of the tables in it, but not those of lists of tables."""
    keys: list[str] = []
    for name, field in table.model_fields.items():
        if name in {"name", "origins", "spread"}:
            continue
        keys.append(name)
        inner = table_of(field.annotation)
        if inner is not None:
            keys += [f"{name}.{key}" for key in keys_of(inner)]
    return keys


def number_at(table: Table, key: str) -> float | None:
    """Give the number at a dotted key; None where a table on the way is left out or the value is no number."""
    value: Any = table
    for part in key.split("."):
        value = getattr(value, part, None)
    return float(value) if isinstance(value, int | float) else None
