"""Does a sheet say the same through every door, and can nothing typed be carried out?"""

from __future__ import annotations

import io
from datetime import UTC, datetime

import pypdf
import pytest

from ringwright.report.sheets.sheet import Picture, Row, Sheet, Table
from ringwright.report.sheets.sheet_html import sheet_html
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.report.svg import THIN, figure, line

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
SAMPLE = Sheet(
    title="Creel of F1 <b>",
    answer="The brake holds from full to empty.",
    rows=(
        Row(name="Tension, full bobbin", value="12.3", unit="cN", origin="computed", raw=0.123, note="at the rod"),
        Row(name="Brake torque", value="1.2", unit="mN m", origin="assumed, no reading"),
    ),
    tables=(
        Table(title="By wharve", columns=("wharve (mm)", "slip (%)"), rows=(("19", "1.25"), ("22", "0.80")),
              origin="computed", numbers=(0, 1), note="Smaller slips more."),
    ),
    pictures=(
        Picture(title="Tension", svg=figure((40.0, 20.0), "T", [line((0, 0), (40, 20), THIN)]), words="It falls."),
    ),
    warnings=("The belt slips.",),
    notes=("Air is left out.",),
    sources=("A book, 1999",),
    cautions=("Stop the frame and lock it out.",),
)  # fmt: skip
WORDS = (
    "The brake holds from full to empty.", "12.3", "cN", "assumed, no reading", "By wharve", "1.25", "The belt slips.",
    "Air is left out.", "A book, 1999", "Stop the frame and lock it out.",
)  # fmt: skip


def of_pdf():
    pages = pypdf.PdfReader(io.BytesIO(sheet_pdf(SAMPLE, made_at=NOON))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.mark.parametrize("door", ["text", "html", "pdf"])
def test_every_word_of_a_sheet_is_shown_through_every_door(door):
    told = {"text": lambda: sheet_text(SAMPLE), "html": lambda: sheet_html(SAMPLE, made_at=NOON), "pdf": of_pdf}[door]()
    assert [word for word in WORDS if word not in told] == []


def test_json_gives_the_si_value_beside_what_is_shown():
    row, other = sheet_values(SAMPLE)["rows"]
    assert (row["value"], row["unit"], row["si"]) == ("12.3", "cN", 0.123)
    assert other["si"] is None


def test_a_table_in_json_is_read_by_its_column_heads():
    assert sheet_values(SAMPLE)["tables"][0]["rows"][1] == {"wharve (mm)": "22", "slip (%)": "0.80"}


def test_markup_in_a_name_is_shown_and_not_carried_out():
    assert "F1 &lt;b&gt;" in sheet_html(SAMPLE, made_at=NOON)
    assert "F1 <b>" not in sheet_html(SAMPLE, made_at=NOON)


def test_the_same_sheet_at_the_same_moment_is_the_same_file():
    assert sheet_pdf(SAMPLE, made_at=NOON) == sheet_pdf(SAMPLE, made_at=NOON)


def test_lines_of_the_text_stay_readable():
    assert max(len(one) for one in sheet_text(SAMPLE).splitlines()) <= 110
