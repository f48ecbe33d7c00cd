"""The sheet of the studies: what was found first, then each question with its own counts, limits and pictures."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from pypdf import PdfReader

from ringwright.report.sheets.sheet_html import sheet_html
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.report.sheets.study import study_sheet
from ringwright.verbs.asked import Asked
from ringwright.verbs.studying import questions, study

ASKED = ("rates", "spindles", "separators", "drive")


@pytest.fixture(scope="module")
def found():
    return study(Asked(records="demo", mill="demo", questions=ASKED, frames=("F1", "F4")))


@pytest.fixture(scope="module")
def sheet(found):
    return study_sheet(found, questions())


def test_what_was_found_stands_first_and_each_answer_tells_its_own_counts(sheet, found):
    first, *others = sheet.tables
    assert (first.title, first.columns) == ("Found", ("What", "How sure"))
    assert len(first.rows) == sum(len(one.findings) for one in found.answers) == 3
    assert [one.title for one in others] == [questions()[word] for word in ASKED]
    told = {row[0]: row[-1] for table in others for row in table.rows}
    assert told == {one.sentence: one.data_used for one in found.answers}
    assert len({one.data_used for one in found.answers if one.question == "rates"}) == 2  # F4's counts are not F1's
    assert [one.note for one in others] == [
        next(answer.cannot_say for answer in found.answers if answer.question == word) for word in ASKED
    ]


def test_a_number_stands_beside_an_answer_whose_words_have_none(sheet):
    numbered = [one.title for one in sheet.tables if "Number (95 %)" in one.columns]
    assert numbered == [questions()["spindles"], questions()["separators"]]


def test_each_picture_stands_under_its_own_question(sheet):
    titles = [one.title for one in sheet.tables]
    assert {one.about for one in sheet.pictures} == {questions()["spindles"], questions()["separators"]}
    assert len(sheet.pictures) == 2 + 4  # each frame's spindles, and each side's separators
    page = sheet_html(sheet)
    at = {title: page.index(f"<h2>{title}</h2>") for title in titles}
    figures = [match.start() for match in re.finditer(r"<svg ", page)]
    spindles, separators, drive = (at[questions()[word]] for word in ("spindles", "separators", "drive"))
    assert [spindles < one < separators for one in figures] == [True, True, False, False, False, False]
    assert all(separators < one < drive for one in figures[2:])


def test_the_pages_of_paper_hold_every_answer_and_picture(sheet, found):
    reader = PdfReader(BytesIO(sheet_pdf(sheet)))
    text = " ".join(" ".join(one.extract_text() for one in reader.pages).split())
    for one in found.answers:
        assert " ".join(one.sentence.split())[:40] in text
    assert "F4, side 2: neighbours that broke together" in text
    assert text.index("Found") < text.index("How many ends break")
