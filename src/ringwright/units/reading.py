"""Read what a person wrote, "30 Ne" or "16 000 rpm", into an SI value; refuse what cannot be read for certain."""

from __future__ import annotations

import re
from difflib import get_close_matches
from math import isfinite

from ringwright.refusal import Fault, Refusal
from ringwright.units.table import QUANTITIES, Quantity, Unit

__all__ = ["parse", "units_as_written"]

_GAP = " \u00a0\u2009\u202f"
_NUMBER = re.compile(
    rf"""(?P<number>[+\-\u2212]?
        (?:\d{{1,3}}(?P<mark>[,{_GAP}])\d{{3}}(?:(?P=mark)\d{{3}})*(?!\d)|\d+(?=\D|$)|(?=\.\d))
        (?:\.\d+)?(?:[eE][+\-\u2212]?\d+)?)""",
    re.VERBOSE,
)
_FRACTION = re.compile(rf"(?:(?P<whole>\d+)(?:[{_GAP}]+|-))?(?P<over>\d+)/(?P<under>2|4|8|16|32|64)(?!\d)")
_DRAWN = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}


def parse(given: object, quantity: str, where: str) -> float:
    """Read a text or number as an SI value of the quantity.

    A bare number is taken only where the quantity is plain (share, ratio).
    Raises Refusal, naming ``where``, for no number, no unit, an unknown unit or another quantity's unit.
    """
    wanted = QUANTITIES[quantity]
    if isinstance(given, str):
        number, word = _split(given.strip(), wanted, where)
        value = _value(number, word, given, wanted, where)
    elif isinstance(given, bool) or not isinstance(given, int | float):
        raise Refusal(Fault(where=where, got=str(given), wants=_wants(wanted)))
    else:
        value = _value(float(given), "", given, wanted, where)
    if not isfinite(value):
        raise Refusal(
            Fault(where=where, got=_quoted(given), wants=f"{wanted.called} that is a finite number, not zero")
        )
    return value


def units_as_written(quantity: str) -> str:
    """List the units of a quantity for a sentence, the one shown first."""
    return ", ".join(symbol for symbol in QUANTITIES[quantity].symbols if symbol != "1")


def _split(text: str, wanted: Quantity, where: str) -> tuple[float, str]:
    """Part the number from its unit; the unit may stand on either side."""
    typed = text
    if wanted is QUANTITIES["length"]:
        text = _as_decimals(text)
    match = _NUMBER.search(text)
    before, after = (text[: match.start()].strip(), text[match.end() :].strip()) if match else (text, "")
    if match is None or (before and after):
        raise Refusal(Fault(where=where, got=_quoted(typed), wants=_wants(wanted)))
    if re.match(r"[\d,.]", after) and _unit(after, wanted) is None:
        mend = "Write the decimals after a point and the thousands in groups of three."
        raise Refusal(Fault(where=where, got=_quoted(typed), wants=_wants(wanted), mend=mend))
    digits = re.sub(rf"[,{_GAP}]", "", match["number"]).replace("\u2212", "-")
    return float(digits), before or after


def _as_decimals(text: str) -> str:
    """Write a length in fractions of an inch, "1 3/4 in" or "½ in", as decimals; a count in plies is never read so."""
    drawn = "".join(_DRAWN.get(letter, letter) for letter in text).strip()
    match = _FRACTION.match(drawn)
    if match is None or int(match["over"]) >= int(match["under"]):
        return text
    return f"{int(match['whole'] or 0) + int(match['over']) / int(match['under'])}{drawn[match.end() :]}"


def _value(number: float, word: str, given: object, wanted: Quantity, where: str) -> float:
    """Convert the number by the unit that the word names."""
    if not word:
        if wanted.plain:
            return number
        mend = f'Add the unit, for example "{given} {wanted.units[0].symbol}".'
        raise Refusal(Fault(where=where, got=f"{_quoted(given)} without a unit", wants=_wants(wanted), mend=mend))
    unit = _unit(word, wanted)
    if unit is None:
        raise Refusal(Fault(where=where, got=_quoted(given), wants=_wants(wanted), mend=_nearest_unit(word, wanted)))
    factor = float(unit.factor)
    if unit.reciprocal:
        return factor / number if number else float("inf")
    return number * factor


def _unit(word: str, wanted: Quantity) -> Unit | None:
    """Find the unit a word names: its symbol as it stands, else any usual spelling."""
    for unit in wanted.units:
        if word == unit.symbol:
            return unit
    for unit in wanted.units:
        spelt = (unit.symbol, *unit.spellings)
        if not unit.exact_case and _plain(word) in {_plain(s) for s in spelt}:
            return unit
    return None


def _plain(word: str) -> str:
    """Strip a unit word of what people write in different ways: case, gaps, raised figures, the two signs for micro."""
    swapped = word.replace("³", "3").replace("⁻¹", "-1").replace("\u2212", "-").replace("^", "")
    return re.sub(rf"[{_GAP}]", "", swapped).replace("\u00b5", "u").replace("\u03bc", "u").casefold()


def _nearest_unit(word: str, wanted: Quantity) -> str:
    """Say whose unit the word is, or which unit of the wanted quantity is nearest to it."""
    for quantity in QUANTITIES.values():
        if _unit(word, quantity) is not None:
            return f"{word} is a unit of {quantity.called.split(' ', 1)[1]}."
    known = {_plain(s): unit.symbol for unit in wanted.units for s in (unit.symbol, *unit.spellings)}
    match = get_close_matches(_plain(word), known, n=1, cutoff=0.5)
    return f"Did you mean {known[match[0]]}?" if match else ""


def _wants(wanted: Quantity) -> str:
    """Say what is wanted, with the accepted units."""
    units = [symbol for symbol in wanted.symbols if symbol != "1"]
    if not units:
        return f"{wanted.called}, without a unit"
    if wanted.plain:
        return f"{wanted.called}, as a plain number or in {', '.join(units)}"
    return f"{wanted.called} with its unit ({', '.join(units)})"


def _quoted(given: object) -> str:
    """Show a text in quotation marks and a number as it is."""
    return f'"{given}"' if isinstance(given, str) else str(given)
