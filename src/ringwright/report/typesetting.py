"""The one door to the typesetter: documents and pictures, set with the fonts that the package carries."""

from __future__ import annotations

import re
from datetime import datetime
from functools import cache
from importlib.resources import as_file, files
from typing import Literal

import typst

from ringwright.refusal import Fault, Refusal

__all__ = ["FONTS", "TEMPLATES", "pdf", "png"]

FONTS = files("ringwright.report").joinpath("fonts")
TEMPLATES = files("ringwright.report").joinpath("templates")
_PICTURE = b"""#set page(width: auto, height: auto, margin: 6pt, fill: white)
#image(bytes(sys.inputs.figure), format: "svg")
"""
_ACCESSIBLE: list[Literal["ua-1"]] = ["ua-1"]


def png(figure: str, *, dots_per_inch: float = 192.0) -> bytes:
    """Draw an SVG figure as a PNG picture on white; the same figure always gives the same bytes."""
    inputs = {"figure": figure}
    return _one(typst.compile(_PICTURE, format="png", ppi=dots_per_inch, sys_inputs=inputs, font_paths=_fonts()))


def pdf(template: bytes, inputs: dict[str, str], made_at: datetime) -> bytes:
    """Set a template with its data as a tagged PDF (PDF/UA-1); ``made_at`` must carry a time zone.

    Raises Refusal for a letter that no font in the package can draw, since a sheet with holes misleads.
    """
    try:
        made = typst.compile(
            template,
            format="pdf",
            sys_inputs=inputs,
            font_paths=_fonts(),
            pdf_standards=[*_ACCESSIBLE],
            timestamp=made_at,
        )
    except typst.TypstError as error:
        undrawn = re.search(r'the text `"(.*?)"` could not be displayed', str(error))
        if undrawn is None:
            raise
        raise Refusal(
            Fault(
                where="a name on the card",
                got=f"written with {undrawn.group(1)!r}, a letter that the fonts of the PDF card lack",
                wants="written in Latin, Greek or Cyrillic letters",
                mend="Write that name in Latin letters in the mill file; the HTML card shows any letter.",
            )
        ) from error
    return _one(made)


@cache
def _fonts() -> typst.Fonts:
    # The typesetter's own fonts stay in reach for letters that ours lack; the computer's do not, so that every
    # computer sets the same sheet.
    with as_file(FONTS) as folder:
        return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(folder)])


def _one(made: object) -> bytes:
    if not isinstance(made, bytes):
        raise TypeError("the typesetter gave more than one sheet, or none")
    return made
