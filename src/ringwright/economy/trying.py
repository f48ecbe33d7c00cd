"""Read what is to be tried from one line, as a person types it: "traveller=40mg, speed=17000 rpm, guide=fixed"."""

from __future__ import annotations

import re
from typing import Any

from ringwright.refusal import Fault, Refusal, nearest
from ringwright.setting.choice import Trial
from ringwright.units import parse

__all__ = ["read_trial"]

KEYS = ("traveller", "speed", "guide", "control-ring", "friction")


def read_trial(text: str) -> Trial:
    """Read a trial; Refusal with every fault. An empty text tries nothing."""
    changes: dict[str, Any] = {}
    faults: list[Fault] = []
    pieces = re.split(r",(?=\s*[A-Za-z-]+\s*=)", text) if text.strip() else []
    for piece in pieces:
        key, equals, value = (part.strip() for part in piece.partition("="))
        if key.lower() not in KEYS or not equals:
            wants = f"one of {', '.join(KEYS)}, with = and a value"
            faults.append(Fault(where="--with", got=f'"{piece.strip()}"', wants=wants, mend=nearest(key, KEYS)))
            continue
        try:
            name, read = _read(key.lower(), value)
        except Refusal as refusal:
            faults += refusal.faults
            continue
        if name in changes:
            faults.append(Fault(where=f"--with, {key}", got="given twice", wants="given once"))
        changes[name] = read
    if faults:
        raise Refusal(faults)
    return Trial(**changes)


def _read(key: str, value: str) -> tuple[str, object]:
    where = f"--with, {key}"
    match key:
        case "traveller":
            return "traveller_mass", parse(value, "mass", where)
        case "speed":
            return "main_speed", parse(value, "rotation", where)
        case "friction":
            return "ring_friction", parse(value, "ratio", where)
        case "guide" if value in {"fixed", "moving"}:
            return "guide_fixed", value == "fixed"
        case "control-ring" if value == "none":
            return "control_ring", False
        case _:
            wants = "fixed or moving" if key == "guide" else "none; a ring is added in the mill's file"
            raise Refusal(Fault(where=where, got=f'"{value}"', wants=wants))
