"""The spread of a value: the two ends between which it lies nineteen times in twenty, written "0.08 to 0.13"."""

from __future__ import annotations

from ringwright.mill.field import Stated, read_value
from ringwright.refusal import Fault, Refusal

__all__ = ["read_spread", "spread_fault"]


def read_spread(text: str, field: Stated) -> tuple[float, float]:
    """Read the two ends of a spread in SI; Refusal if they cannot be read, or do not rise.

    The unit may stand once, at the end: "44 to 46 mg".
    """
    low, to, high = (part.strip() for part in text.partition(" to "))
    if not to or not high:
        wants = f'two values with "to" between them, {field.in_words()}'
        raise Refusal(Fault(where="", got=f'"{text}"', wants=wants))
    unit = high.lstrip("+-0123456789.eE ").strip()
    bare = low.replace(".", "", 1).isdigit()
    ends = [read_value(end, field, written=True) for end in (f"{low} {unit}" if bare and unit else low, high)]
    first, last = sorted(ends)  # of a count in Ne the larger number is the finer yarn
    if not first < last:
        raise Refusal(Fault(where="", got=f'"{text}"', wants="two different values"))
    return first, last


def spread_fault(key: str, text: str, field: Stated | None, value: float | None) -> list[Fault]:
    """Give the faults of a spread: a key that is no quantity, ends that cannot be, a value outside them."""
    where = f"spread.{key}"
    if field is None or not field.quantity:
        return [
            Fault(where=where, got="the spread of no known quantity", wants="a key of this table that is a quantity")
        ]
    try:
        low, high = read_spread(text, field)
    except Refusal as refusal:
        return [Fault(where=where, got=f.got, wants=f.wants, mend=f.mend) for f in refusal.faults]
    if value is not None and not low <= value <= high:
        return [Fault(where=where, got=f'"{text}"', wants=f"on both sides of the value of {key} itself")]
    return []
