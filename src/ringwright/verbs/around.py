"""The lines of the setting card about the parts around the balloon, in the order in which the shift meets them."""

from __future__ import annotations

from collections.abc import Callable

from ringwright.cascade.card import card_line as separators_line
from ringwright.centring.card import card_line as centring_line
from ringwright.creel.card import card_line as creel_line
from ringwright.drive.told import card_line as drive_line
from ringwright.mill import Mill
from ringwright.refusal import Refusal
from ringwright.spindle.card import card_line as spindle_line
from ringwright.verbs.driving import spindle_load

__all__ = ["around_lines"]

Line = Callable[[Mill, str, str], str]


def around_lines(mill: Mill, frame: str, yarn: str) -> tuple[str, ...]:
    """Give one line for each part, of the setting as the mill has it; a part that cannot be computed says so."""
    lines: dict[str, Line] = {
        "Centring": centring_line,
        "Separators": separators_line,
        "Creel": creel_line,
        "Spindle": spindle_line,
        "Speed along the frame": _drive,
    }
    return tuple(_told(name, line, mill, frame, yarn) for name, line in lines.items())


def _drive(mill: Mill, frame: str, yarn: str) -> str:
    return drive_line(mill.frames[frame], spindle_load(mill, frame, yarn))


def _told(name: str, line: Line, mill: Mill, frame: str, yarn: str) -> str:
    try:
        return line(mill, frame, yarn)
    except Refusal:
        return f"{name}: not computed; its own page and command say why"
