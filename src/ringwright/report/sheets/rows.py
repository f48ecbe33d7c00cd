"""What the sheets of what pays have in common: rows of numbers, the setting they are of, and the fit they rest on."""

from __future__ import annotations

from typing import Final

from ringwright.judgement import cautions
from ringwright.mill import origin_of
from ringwright.report.sheets.sheet import Row
from ringwright.setting.choice import Choice, Trial
from ringwright.units import NARROW_SPACE, chosen, show, show_number

__all__ = ["COMPUTED", "cautions_of", "percent", "row", "setting_rows", "share"]

COMPUTED: Final = "computed"
TRIED: Final = "assumed, tried here"
_WORKS: Final = ("changing trav", "setting con")


def row(
    name: str, value: float, measure: tuple[str, str], decimals: int | None = None, *, origin: str = COMPUTED,
    note: str = "",
) -> Row:  # fmt: skip
    """Make a row of an SI value of a measure (quantity and usual unit), in the unit that the reader chose."""
    quantity, usual = measure
    unit = "" if usual == "1" else chosen(usual)
    text = show(value, quantity, usual, decimals).removesuffix(f"{NARROW_SPACE}{unit}")
    return Row(name=name, value=text, unit=unit, origin=origin, raw=float(value), note=note)


def setting_rows(choice: Choice, tried: Trial) -> tuple[Row, ...]:
    """Tell main speed and traveller, and what else is tried."""
    setting = choice.setting
    told = {
        "main speed": TRIED if tried.main_speed is not None else _stated(setting, "main_speed"),
        "traveller": TRIED if tried.traveller_mass is not None else _stated(setting, "traveller"),
    }
    rows = [
        row("Main speed", setting.main_speed, ("rotation", "rpm"), 0, origin=told["main speed"]),
        row("Traveller", choice.traveller.mass, ("mass", "mg"), origin=told["traveller"]),
    ]
    friction = TRIED if tried.ring_friction is not None else _stated(choice.frame, "ring.friction")
    rows.append(row("Ring friction", choice.frame.ring.friction, ("ratio", "1"), origin=friction))
    if tried.guide_fixed is not None:
        rows.append(Row(name="Guide", value="fixed" if tried.guide_fixed else "moving", unit="", origin=TRIED))
    if not tried.control_ring:
        rows.append(Row(name="Control ring", value="none", unit="", origin=TRIED))
    return tuple(rows)


def _stated(entry: object, key: str) -> str:
    word, note = origin_of(entry, key)
    return f"{word}, {note}" if note else word


def percent(part: float) -> str:
    """Tell a gain in % with its sign; one that rounds to nought has none."""
    text = show_number(100 * part, 1)
    return f"+{text} %" if part > 0 and text.strip("0.") else f"{text} %"


def share(part: float) -> str:
    """Tell a share as a number of %, without decimals where it has none."""
    whole = abs(100 * part - round(100 * part)) < 1e-6
    return show_number(100 * part, None if whole else 1)


def cautions_of(choice: Choice) -> tuple[str, ...]:
    """Give the cautions of changing travellers and setting control rings."""
    return tuple(one.words for one in cautions(choice.frame, choice.yarn) if one.work.startswith(_WORKS))
