"""The HTML card printed by a real browser: one sheet of A4, as the PDF."""

from __future__ import annotations

import shutil
import subprocess

import pytest
from pypdf import PdfReader

from ringwright.mill import demo_mill_path, read_mill
from ringwright.report.card_html import card_html
from ringwright.verbs import app

SETTINGS = [(one.frame, one.yarn) for one in read_mill(demo_mill_path()).settings.values()]
BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
# No sandbox, since CI runs as root; the page is our own and reaches nothing outside itself.
QUIET = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync")
NO_CALLS = ("--disable-background-networking", "--disable-component-update", "--no-pdf-header-footer")


@pytest.mark.parametrize(("frame", "yarn"), SETTINGS, ids=lambda name: name)
def test_the_card_prints_on_one_sheet_of_a4(frame, yarn, tmp_path):
    assert BROWSER, "no Chromium on this machine"
    page, paper = tmp_path / "card.html", tmp_path / "card.pdf"
    page.write_text(card_html(app.card("demo", frame, yarn, app.trial())), encoding="utf-8")
    words = [BROWSER, *QUIET, *NO_CALLS, f"--user-data-dir={tmp_path / 'profile'}", f"--print-to-pdf={paper}"]
    subprocess.run([*words, page.as_uri()], check=True, timeout=60, capture_output=True)  # noqa: S603 - our own page
    (sheet,) = PdfReader(paper).pages
    assert [float(v) / 72 * 25.4 for v in sheet.mediabox[2:]] == pytest.approx([210, 297], abs=0.5)
    assert "sheet 1 of 1" in sheet.extract_text().replace("\n", " ")
