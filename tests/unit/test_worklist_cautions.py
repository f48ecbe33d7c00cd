"""Each caution stands once, in full, before the work, on every door; each task points to its own."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from html import unescape
from io import BytesIO

import pytest
from pypdf import PdfReader
from sample_tasks import KNOWN, MILL, found, listed

from ringwright.judgement.cautions import cautions, joined
from ringwright.report.worklist_rows import pointed
from ringwright.report.worklist_sheet import list_html, list_pdf
from ringwright.report.worklist_text import list_text
from ringwright.report.worklist_view import ListToShow

MADE_AT = datetime(2026, 4, 14, 6, tzinfo=UTC)


def many_tasks():
    work = listed(*(found("spindle", frame, (k,), 4.0) for frame in ("F1", "F2") for k in range(3, 999, 50)),
                  found("drive group", "F1", (1, 2), 3.0))  # fmt: skip
    return ListToShow(mill="Alder Vale", origin="records", command="demo", work=work, done=())


def words_of(text):
    return " ".join(text.replace("\xad", "").split())


@pytest.mark.parametrize("door", ["text", "html", "pdf"])
def test_each_caution_is_said_in_full_once_before_the_work_and_pointed_to_by_each_task(door):
    told = many_tasks()
    if door == "text":
        text = words_of(list_text(told))
    elif door == "html":
        text = words_of(unescape(re.sub(r"<[^>]*>", " ", list_html(told, made_at=MADE_AT).partition("<body>")[2])))
    else:
        pages = PdfReader(BytesIO(list_pdf(told, made_at=MADE_AT))).pages
        text = words_of(" ".join(one.extract_text() for one in pages))
    first = text.index("1. [ ] Look" if door == "text" else "1. Look")
    needed = joined(caution for one in told.work.tasks for caution in one.cautions)
    assert len(needed) == 4
    for caution in (*needed, *told.work.always):
        assert text.count(caution.harm) == 1, caution.work
        assert text.index(caution.act) < first
    assert text.count("Stop and lock out before you reach in: cautions A") == len(told.work.tasks) == 41
    assert text.index("Your mill's rules and trained people come first.") < first


def test_what_to_look_at_is_said_once_on_each_frame():
    text = list_text(many_tasks())
    assert text.count("Check in turn: traveller, ring") == 2
    # 21 tasks on F1, of which the first is its tape or belt, and 20 on F2.
    assert (text.count("Look as at task 2."), text.count("Look as at task 22.")) == (19, 19)
    alone = [{"look_at": "Check each of the many parts that are there.", "number": number} for number in (None, 4, 5)]
    # A task without a number (its tick was taken back) is nothing to point to.
    assert [row["look"] for row in pointed(alone)][1:] == [alone[0]["look_at"], "Look as at task 4."]


def test_the_dust_of_two_yarns_is_one_caution_that_names_every_fibre():
    both = [one for yarn in ("AV30K", "AV40B") for one in cautions(MILL.frames["F1"], MILL.yarns[yarn])]
    dust = [one for one in joined(both) if one.work == "cleaning"]
    assert [one.harm for one in dust] == ["Dust and fly of cotton and polyester harm the lungs and can burn."]
    assert len(joined(both)) == len(KNOWN)
