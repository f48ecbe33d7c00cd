"""What a person types into a field, as TOML writes it."""

from __future__ import annotations

import math
import re
import tomllib
from typing import Literal

import tomlkit

from ringwright.editing.leaves import item_of
from ringwright.refusal import Fault, Refusal

__all__ = ["LONGEST", "LONGEST_LIST", "Kind", "literal_of"]

Kind = Literal["quantity", "number", "text", "choice", "switch", "list"]
"""A quantity with a unit, a plain number, a text, one of some words, true or false, a list in square brackets."""

LONGEST, LONGEST_LIST = 400, 8000
_NUMBER = re.compile(r"[+-]?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?")


def literal_of(typed: str, kind: Kind, where: str) -> str:
    """Write what was typed as a TOML value that says nothing more than it; Refusal, naming ``where``, if it cannot be.

    Plain numbers and the words true and false stand bare, lists as typed, all else as a text with its signs escaped.
    """
    most = LONGEST_LIST if kind == "list" else LONGEST
    if len(typed) > most:
        raise Refusal(Fault(where=where, got=f"{len(typed)} signs long", wants=f"at most {most} signs long"))
    if kind == "list":
        return _list(typed, where)
    if kind == "switch" and typed in {"true", "false"}:
        return typed
    if kind == "number" and _NUMBER.fullmatch(typed) and math.isfinite(float(typed)):
        return typed
    return tomlkit.string(typed).as_string()


def _list(typed: str, where: str) -> str:
    """Take one TOML value and nothing after it: a line break must not begin another key or table."""
    try:
        read = tomllib.loads(f"v = {typed}")
    except (tomllib.TOMLDecodeError, RecursionError):
        read = {}
    if list(read) != ["v"] or not isinstance(read["v"], list):
        mend = 'As in the file: [60, 64, 68], or [[120, 30], ["change", 32]].'
        raise Refusal(Fault(where=where, got="not a list", wants="a list in square brackets", mend=mend))
    # The closing bracket ends it: what stands after would be a comment, and that of the line is kept.
    return item_of(typed).as_string()
