"""The centring page: readings typed one by one, pasted or sent as a file, judged, printed and kept."""

from __future__ import annotations

import re
from html import unescape
from io import BytesIO
from urllib.parse import urlencode

import pytest
from asking import OWN, Pages
from pypdf import PdfReader
from slow_work import count
from web_request import request

from ringwright.centring.in_time import InTime
from ringwright.refusal import Refusal
from ringwright.store import open_store
from ringwright.verbs import centring as verbs
from ringwright.verbs import tasking
from ringwright.verbs.app import init, open_mill
from ringwright.verbs.studying import Asked
from ringwright.web.centring_form import FILE_MOST
from ringwright.web.jobs import Job
from ringwright.web.server import make_app
from ringwright.worklist.centring_tasks import follow_up_of_round

AT = "/parts/centring/F3/AV20W"
TYPED = {"spindle": "12", "part": "ring", "way": "dx and dy", "first": "0,31", "second": "-0.2", "unit": "mm"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("rounds") / "store"


@pytest.fixture(scope="module")
def pages(folder):
    made = Pages("demo")
    made.app.state.work.background.close()
    made.app = make_app("demo", store=str(folder))
    yield made
    made.app.state.work.background.close()


def send(pages, fields, path=AT, **headers):
    kind = {"content-type": "application/x-www-form-urlencoded"}
    return pages.ask("POST", path, urlencode(fields).encode(), OWN | kind | headers)


def send_file(pages, name, content, readings=""):
    parts = [f'name="readings"\r\n\r\n{readings}', 'name="act"\r\n\r\njudge']
    body = "".join(f"--cut\r\nContent-Disposition: form-data; {part}\r\n" for part in parts).encode()
    head = f'--cut\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\nContent-Type: text/csv\r\n\r\n'
    body += head.encode() + content + b"\r\n--cut--\r\n"
    return pages.ask("POST", AT, body, OWN | {"content-type": "multipart/form-data; boundary=cut"})


def beside(page, key):
    """Give what is told beside a field; "" where nothing is."""
    found = re.search(rf'id="e-{key}" role="alert">(.*?)</ul>', page.text, re.DOTALL)
    return unescape(re.sub(r"<[^>]*>", " ", found[1])).strip() if found else ""


FIELDS = ("spindle", "part", "way", "first", "second", "entry", "readings", "file", "when", "by", "in_time", "")


@pytest.mark.parametrize(
    ("typed", "key", "told"),
    [
        ({"spindle": "1009"}, "spindle", "from 1 to 1008"), ({"spindle": ""}, "spindle", "empty"),
        ({"spindle": "1.5"}, "spindle", '"1.5"'), ({"first": ""}, "first", "half of dx and dy"),
        ({"first": "50"}, "first", "Check the number and its unit"), ({"second": "x"}, "second", 'Dy is "x"'),
        ({"second": "1 kg"}, "second", "kg"), ({"way": "clock and amount", "first": "13"}, "first", "from 1 to 12"),
        ({"way": "clock and amount", "first": "3", "second": "-1"}, "second", "0 or more"),
        ({"part": "lid"}, "", "does not know"), ({"spindle": "<b>1"}, "spindle", "<b>1"),
    ],
)  # fmt: skip
def test_a_wrong_reading_is_told_beside_its_field_and_stays(pages, typed, key, told):
    given = {"spindle": "12", "part": "ring", "way": "dx and dy", "first": "0.1", "second": "0.2", "unit": "mm"} | typed
    page = send(pages, given | {"act": "add", "readings": ""})
    assert page.status == 422
    where = "entry" if told.startswith(("half", "does")) else key
    assert told in beside(page, where)
    assert [other for other in FIELDS if other and beside(page, other)] == [where]
    assert page.form["readings"] == ""
    assert all(page.form[name] == text for name, text in given.items() if name != "part")


@pytest.mark.parametrize(
    ("fields", "key", "told"),
    [
        ({"when": "soon"}, "when", 'Read on is "soon"'), ({"when": "2999-01-01"}, "when", "Read on"),
        ({"act": "keep"}, "by", "Read by is empty"), ({"readings": "nonsense"}, "readings", "text typed is a heading"),
        ({"readings": "spindle,prat,dx (mm),dy (mm)\n1,2,3,4\n"}, "readings", "part"),
        ({"act": "keep", "by": "me", "readings": ""}, "readings", "empty"),
        ({"act": "in-time", "in_time": ""}, "in_time", "The spindle is empty"),
        ({"act": "in-time", "in_time": "951.5"}, "in_time", '"951.5"'),
        ({"act": "in-time", "in_time": "4000"}, "in_time", "from 1 to 1008"),
        ({"act": "in-time", "in_time": "44"}, "in_time", "not read"),
    ],
)  # fmt: skip
def test_a_wrong_field_of_a_round_is_told_beside_it_and_stays(pages, fields, key, told, monkeypatch):
    done_at_once(pages, monkeypatch)
    text = "spindle,part,dx (mm),dy (mm)\n12,ring,0.31,-0.2\n"
    given = {"act": "judge", "readings": text, "when": "", "by": "", "in_time": ""} | fields
    page = send(pages, given)
    page = pages.get(page.headers["location"]) if page.status == 303 else page
    assert page.status == 422
    assert told in beside(page, key)
    assert [other for other in FIELDS if beside(page, other)] == [key]
    assert page.form["readings"] == given["readings"]
    assert page.form["when"] == given["when"]
    if "in_time" in page.form:
        assert page.form["in_time"] == given["in_time"]


def done_at_once(pages, monkeypatch):
    """Do the jobs of the pages at once, in this process; gives them by name."""
    jobs: dict[str, Job] = {}
    held = pages.app.state.work.jobs

    def of(key, title, work, *given, again=False):  # noqa: ARG001 - as jobs are asked
        job = Job(name=held.name_of(key), title=title, work=work, given=given, state="done")
        try:
            job.answer = work(*given, lambda _: None, lambda: False)
        except Refusal as refusal:
            job.state, job.faults = "refused", tuple(str(fault) for fault in refusal.faults)
        jobs[job.name] = job
        return job

    monkeypatch.setattr(held, "of", of)
    monkeypatch.setattr(held, "named", jobs.get)
    return jobs


def test_a_spindle_is_run_through_time_from_the_page_as_from_the_command(pages, monkeypatch):
    jobs = done_at_once(pages, monkeypatch)
    monkeypatch.setattr("ringwright.report.sheets.centring_in_time.in_time", run_of_a_known_peak)
    text = "spindle,part,dx (mm),dy (mm)\n12,ring,0.31,-0.2\n"
    begun = send(pages, {"act": "in-time", "readings": text, "in_time": "12", "when": "2026-05-04"})
    assert begun.status == 303
    page = pages.get(begun.headers["location"])
    assert "Spindle 12 in time: tension rises to 61.5 cN" in page.words.partition("Correct one single")[0]
    assert (page.form["readings"], page.form["in_time"], page.form["when"]) == (text, "12", "2026-05-04")
    pdf = request(pages.app, f"{AT}/sheet.pdf", method="POST", body=urlencode(page.form).encode(),
                  origin="http://localhost:8733", content_type="application/x-www-form-urlencoded")  # fmt: skip
    assert "Spindle 12 in time" in PdfReader(BytesIO(pdf.body)).pages[0].extract_text()
    (job,) = jobs.values()
    assert job.given[2].keep is False
    jobs.clear()  # as after the server was started anew
    gone = pages.get(begun.headers["location"])
    assert "is gone: the server was started anew" in beside(gone, "in_time")
    assert "type or send them again" in beside(gone, "in_time")
    assert not jobs


def run_of_a_known_peak(*_):
    return InTime(peak=0.615, trough=0.1, mean=0.3, stands=0.2, turns=16.0, stopped="")


def test_a_run_of_the_demos_round_can_be_asked_for_again_once_it_is_gone(pages):
    gone = pages.get(f"{AT}?round=demo&spindle=951&run=0123456789abcdef")
    assert beside(gone, "in_time").endswith("Run it again.")
    assert (gone.form["shown"], gone.form["in_time"]) == ("demo", "951")
    other = pages.app.state.work.jobs.of("another", "Counting", count, 1)
    assert "is gone" in pages.get(f"{AT}?run={other.name}").words  # the job of another page is not shown here


def test_the_demo_offers_its_own_round_at_one_touch():
    pages = Pages("demo")
    offer = pages.get(AT).text.partition('class="offer"')[2].partition("</div>")[0]
    link = re.findall(r'href="([^"]*)"', offer)[0]
    assert link == f"{AT}?round=demo"
    judged = pages.get(link)
    assert "spindle 951 being the worst" in judged.words
    assert 'class="offer"' not in judged.text
    without = pages.get("/parts/centring/F2/AV30K").text.partition('class="offer"')[2].partition("</div>")[0]
    assert "no round of F2" in without
    assert re.findall(r'href="([^"]*)"', without) == [
        "/parts/centring/F1/AV30K?round=demo", "/parts/centring/F3/AV20W?round=demo"
    ]  # fmt: skip
    pages.app.state.work.background.close()


def test_another_mill_is_offered_no_round_of_the_demo(tmp_path):
    pages = Pages(str(init(str(tmp_path / "mill"))))
    first = next(iter(pages.app.state.work.shelf.mill().settings.values()))
    page = pages.get(f"/parts/centring/{first.frame}/{first.yarn}")
    assert page.status == 200
    assert 'class="offer"' not in page.text
    pages.app.state.work.background.close()


def test_the_page_says_what_offsets_do_before_anything_is_read(pages):
    page = pages.get(AT)
    assert page.status == 200
    assert "No round is given." in page.words
    assert "Stop and lock out" in page.words


def test_a_reading_is_added_as_a_line_and_the_next_spindle_waits(pages):
    page = send(pages, TYPED | {"act": "add", "readings": ""})
    assert page.status == 200
    assert page.form["readings"] == "spindle,part,dx (mm),dy (mm)\n12,ring,0.31,-0.2\n"
    assert (page.form["spindle"], page.form["first"], page.form["part"]) == ("13", "", "ring")
    bad = send(pages, page.form | {"first": "much", "second": "0", "act": "add"})
    assert bad.status == 422
    assert beside(bad, "first").startswith('Dx is "much"')
    assert 'aria-describedby="h-entry e-first" aria-invalid="true"' in bad.text
    assert (bad.form["readings"], bad.form["first"]) == (page.form["readings"], "much")
    other = send(pages, page.form | {"way": "clock and amount", "first": "3", "second": "0.2", "act": "add"})
    assert "clock and amount in mm" in beside(other, "way")
    assert other.form["readings"] == page.form["readings"]


def test_what_was_typed_is_judged_and_stays(pages):
    text = "spindle,part,dx (mm),dy (mm)\n12,ring,0.31,-0.2\n4000,ring,0,0\n"
    page = send(pages, {"act": "judge", "readings": text})
    assert "spindle 12 being the worst" in page.words
    assert 'line 3, spindle is "4000"' in page.words
    assert page.form["readings"] == text


def test_a_file_is_judged_and_its_text_stands_in_the_field(pages):
    page = send_file(pages, "walk.csv", "spindle,part,dx (mm),dy (mm)\n7,ring,0.5,0.5\n".encode("utf-8-sig"))
    assert "spindle 7 being the worst" in page.words
    assert page.form["name"] == "walk.csv"
    assert page.form["readings"].startswith("spindle,part")


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("walk.exe", b"MZ", "its name ending with .csv or .txt"),
        ("walk.csv", b"\x00\x01\xff", "not UTF-8 text"),
        ("walk.csv", b"x" * (FILE_MOST + 1), "larger than 512 kB"),
        ("../../walk.csv", b"\xff\xfe", 'the file "walk.csv"'),
    ],
)
def test_a_file_that_is_none_is_told_and_changes_nothing(pages, name, content, sentence):
    page = send_file(pages, name, content)
    assert page.status == 422
    assert sentence in beside(page, "file")


def test_a_file_beside_typed_readings_loses_neither(pages):
    page = send_file(pages, "walk.csv", b"spindle,part,dx (mm),dy (mm)\n7,ring,0.5,0.5\n", readings="typed before")
    assert "so that neither is lost" in beside(page, "file")
    assert page.form["readings"] == "typed before"


def test_a_form_of_another_site_or_without_shape_is_refused(pages):
    assert send(pages, {"act": "judge"}, origin="http://elsewhere.example").status == 403
    broken = pages.ask("POST", AT, b"--x\r\nnot a form", OWN | {"content-type": "multipart/form-data; boundary=cut"})
    assert broken.status in {200, 422}
    many = send(pages, {f"k{k}": "" for k in range(60)})
    assert many.status == 422
    assert "at most 24 fields" in many.words


def test_words_that_look_like_markup_are_shown_as_words(pages):
    page = send(pages, {"act": "judge", "readings": "spindle,part,dx (mm),dy (mm)\n1,<script>alert(1)</script>,0,0\n"})
    assert "<script>alert" not in page.text
    assert "alert(1)" in page.words


def test_a_round_is_kept_once_and_shown_again(pages, folder):
    text = "spindle,part,dx (mm),dy (mm)\n12,ring,0.31,-0.2\n13,ring,0.02,0.01\n"
    given = {"act": "keep", "readings": text, "when": "2026-05-04"}
    assert beside(send(pages, given), "by").startswith("Read by is empty")
    assert "Kept as round 1" in send(pages, given | {"by": "a fitter"}).words
    assert "known already, as round 1" in send(pages, given | {"by": "a fitter"}).words
    with open_store(folder) as store:
        (kept,) = store.rounds("Alder Vale Spinning", "centring", "F3")
    assert (kept.text, kept.by, kept.day, len(kept.readings)) == (text, "a fitter", "2026-05-04", 2)
    assert "spindle 12 being the worst" in pages.get(f"{AT}?round=kept").words


def test_the_sheet_of_what_was_typed_comes_as_pdf(pages):
    fields = {"readings": "spindle,part,dx (mm),dy (mm)\n12,ring,0.31,-0.2\n", "act": "judge"}
    got = request(pages.app, f"{AT}/sheet.pdf", method="POST", body=urlencode(fields).encode(),
                  origin="http://localhost:8733", content_type="application/x-www-form-urlencoded")  # fmt: skip
    assert got.status == 200
    assert got.body.startswith(b"%PDF")


# The work list


def test_a_ticked_stop_is_held_to_the_next_round(tmp_path):
    mill = open_mill("demo")
    head = "spindle,part,dx (mm),dy (mm)\n"

    def keep(day, rows):
        asked = verbs.AskedCentring(text=head + rows, keep=str(tmp_path / "s"), when=day, by="a fitter")
        return verbs.centring_of(mill, "demo", ("F1", ""), asked)

    keep("2026-05-04", "3,ring,0.8,0\n4,ring,0.9,0\n5,ring,0,0\n")
    (found,) = verbs.frame_rounds(mill, "demo", str(tmp_path / "s"), ["F1", "F2"])
    assert [one.spindle for one in found.judged.corrections] == [3, 4]
    assert found.command.endswith(f"--rounds {tmp_path / 's'}")
    early = follow_up_of_round([3, 4], None, "")
    assert (early.helped, early.sentence) == (None, "Too early to tell: no round of centring was read since.")
    keep("2026-06-04", "3,ring,0.02,0\n4,ring,0.01,0\n5,ring,0,0\n")
    with open_store(tmp_path / "s") as store:
        assert len(store.rounds(mill.name, "centring")) == 2
    (later,) = verbs.frame_rounds(mill, "demo", str(tmp_path / "s"), ["F1"])
    helped = follow_up_of_round([3, 4], later.judged, "2026-06-04")
    assert helped.helped is True
    assert "2 of 2 of these spindles are within tolerance" in helped.sentence
    unread = follow_up_of_round([900], later.judged, "2026-06-04")
    assert unread.helped is None


def test_a_store_of_rounds_alone_has_a_work_list(tmp_path):
    store, mill = str(tmp_path / "s"), open_mill("demo")
    asked = verbs.AskedCentring(text="spindle,part,dx (mm),dy (mm)\n3,ring,0.8,0\n", keep=store, when="2026-05-04",
                                by="a fitter")  # fmt: skip
    verbs.centring_of(mill, "demo", ("F1", ""), asked)
    listed = tasking.work_list(Asked(records=store, mill="demo", frames=("F1",)))
    (stop,) = [one for one in listed.work.tasks if one.kind == "centring"]
    assert (stop.key, stop.spindles, stop.frame) == ("F1-centring-2026-05-04-stop-1", (3,), "F1")
    assert any("too early for any study" in one for one in listed.work.missing)
    with pytest.raises(Refusal, match="F9"):
        tasking.work_list(Asked(records=store, mill="demo", frames=("F9",)))
    tasking.tick(Asked(records=store, mill="demo"), tasking.Ticking(key=stop.key, note="done", by="early"))
    (done,) = tasking.work_list(Asked(records=store, mill="demo", frames=("F1",))).done
    assert done.since.sentence == "Too early to tell: no round of centring was read since."
