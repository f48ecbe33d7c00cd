"""Make the card's faces from the variable originals: static ones for the PDF, variable ones for the HTML.

The originals are Sofia Sans and Sofia Sans Semi Condensed 4.101, Latin subset, SIL Open Font License 1.1, from the npm
packages @fontsource-variable/sofia-sans and @fontsource-variable/sofia-sans-semi-condensed, both 5.3.0. Their licence
reserves no font name. Each face keeps that licence (OFL.txt beside the fonts). Changed are: in the static faces the
weight is fixed; in all, three spaces that the subset lacks (no-break, thin, narrow no-break) are added; the narrow
family has a name of its own, because typst takes "Semi Condensed" for a style and not for part of a family's name.

Needs fonttools, brotli and opentype-sanitizer, which the package itself does not. Run once when the originals change:
python experiments/make_card_fonts.py FOLDER_WITH_THE_TWO_WOFF2_FILES
"""

from __future__ import annotations

import os
import sys
from copy import deepcopy
from pathlib import Path

import ots
from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._g_l_y_f import Glyph
from fontTools.varLib.instancer import instantiateVariableFont

FONTS = Path(__file__).parent.parent / "src" / "ringwright" / "report" / "fonts"
PLAIN, NARROW = "sofia-sans-latin-wght-normal.woff2", "sofia-sans-semi-condensed-latin-wght-normal.woff2"
# file, original, family, weight on the design axis, weight class told to programs
FACES = (
    ("card-plain-400.ttf", PLAIN, "Sofia Sans", 400, 400),
    ("card-plain-600.ttf", PLAIN, "Sofia Sans", 640, 600),
    ("card-plain-700.ttf", PLAIN, "Sofia Sans", 720, 700),
    ("card-narrow-400.ttf", NARROW, "Sofia Slim", 400, 400),
    ("card-narrow-600.ttf", NARROW, "Sofia Slim", 630, 600),
)
NARROW_SPACE_SHARE = 0.8  # of the word space: parts the thousands and the unit without a gap
WEB_FACES = (("card-plain.woff2", PLAIN), ("card-narrow.woff2", NARROW))
STYLES = {400: "Regular", 600: "SemiBold", 700: "Bold"}


def add_spaces(font: TTFont) -> None:
    """Give the font a no-break, a thin and a narrow no-break space."""
    advance = font["hmtx"]["space"][0]
    for name, code, width in (
        ("uni00A0", 0x00A0, advance),
        ("uni2009", 0x2009, round(advance * NARROW_SPACE_SHARE)),
        ("uni202F", 0x202F, round(advance * NARROW_SPACE_SHARE)),
    ):
        if code in font.getBestCmap():
            continue
        varies = font["gvar"].variations if "gvar" in font else None  # read before the glyph is there
        font["glyf"][name] = Glyph()
        font["hmtx"][name] = (width, 0)
        if varies is not None:  # a variable font counts its glyphs there too, and is refused where the counts differ
            varies[name] = deepcopy(varies["space"])
            widths = font["HVAR"].table.AdvWidthMap.mapping
            widths[name] = widths["space"]
        for table in font["cmap"].tables:
            if table.isUnicode():
                table.cmap[code] = name


def check(file: Path) -> None:
    """Stop if a browser would leave something of the face out, as Firefox does without a word on the page."""
    found = ots.sanitize(str(file), os.devnull, capture_output=True)
    told = found.stdout + found.stderr
    if found.returncode or b"ERROR" in told:
        sys.exit(f"{file.name}: {told.decode()}")


def rename(font: TTFont, family: str, weight: int) -> None:
    """Write the names by which programs find the face, and its weight and width class."""
    style = STYLES[weight]
    full = f"{family} {style}"
    wanted = {1: full, 2: "Regular", 3: f"4.101;{full}", 4: full, 6: full.replace(" ", ""), 16: family, 17: style}
    font["name"].names = [n for n in font["name"].names if n.nameID in {0, 5, 7, 8, 9, 11, 13, 14}]
    for name_id, text in wanted.items():
        font["name"].setName(text, name_id, 3, 1, 0x409)
    font["OS/2"].usWeightClass = weight
    font["OS/2"].usWidthClass = 5


def main(originals: Path) -> None:
    """Write every face into the package."""
    for file, original, family, design_weight, weight in FACES:
        font = TTFont(originals / original, recalcTimestamp=False)
        font = instantiateVariableFont(font, {"wght": design_weight}, inplace=True)
        if "STAT" in font:
            del font["STAT"]
        add_spaces(font)
        rename(font, family, weight)
        font.flavor = None
        font.save(FONTS / file)
        check(FONTS / file)
        print(file, (FONTS / file).stat().st_size)
    for file, original in WEB_FACES:
        font = TTFont(originals / original, recalcTimestamp=False)
        add_spaces(font)
        font.flavor = "woff2"
        font.save(FONTS / file)
        check(FONTS / file)
        print(file, (FONTS / file).stat().st_size)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
