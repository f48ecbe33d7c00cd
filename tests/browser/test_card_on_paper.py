"""The HTML card printed by a real browser: one sheet of A4, as the PDF."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader
from tests.browser.visiting import opened

from ringwright.mill import demo_mill_path, read_mill
from ringwright.report.card_html import card_html
from ringwright.verbs import app

SETTINGS = [(one.frame, one.yarn) for one in read_mill(demo_mill_path()).settings.values()]


@pytest.mark.parametrize(("frame", "yarn"), SETTINGS, ids=lambda name: name)
def test_the_card_prints_on_one_sheet_of_a4(browser, frame, yarn, tmp_path):
    card = tmp_path / "card.html"
    card.write_text(card_html(app.card("demo", frame, yarn, app.trial())), encoding="utf-8")
    with opened(browser) as page:
        page.goto(card.as_uri())
        printed = page.pdf(prefer_css_page_size=True, print_background=True)
    (sheet,) = PdfReader(BytesIO(printed)).pages
    assert [float(v) / 72 * 25.4 for v in sheet.mediabox[2:]] == pytest.approx([210, 297], abs=0.5)
    assert "sheet 1 of 1" in sheet.extract_text().replace("\n", " ")
