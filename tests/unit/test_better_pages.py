"""What pays: page, command line, paper and file are one sheet; a field reads nothing of the server's disk."""

from __future__ import annotations

import io
import re
import shutil
from html import unescape
from urllib.parse import parse_qs, quote, urlencode, urlsplit

import pytest
from click.testing import CliRunner
from pypdf import PdfReader
from web_request import request, requests_of

from ringwright.cli.main import ringwright
from ringwright.mill import demo_mill_path
from ringwright.refusal import Refusal
from ringwright.report.sheets.sheet import Sheet, Table
from ringwright.report.sheets.sheet_html import sheet_html
from ringwright.report.sheets.sheet_pdf import sheet_pdf
from ringwright.report.sheets.sheet_text import sheet_text
from ringwright.report.sheets.sheet_values import sheet_values
from ringwright.units import written_in
from ringwright.verbs import app as verbs
from ringwright.web.server import make_app
from ringwright.workbench.better.catalogue import QUESTIONS, answer_long, answer_now, sheet_in
from ringwright.workbench.better.keeping import keep_fit
from ringwright.workbench.better.question import Asked, Ground

NAMES = ("F1", "AV30K")
PLACE = ("--frame", "F1", "--yarn", "AV30K")
OWN = {"origin": "http://localhost:8733"}
COUNTS = "speed (rpm), breaks, spindle hours\n15000, 90, 8000\n16000, 240, 8000\n16800, 490, 8000\n"
ASKED = {
    "course": ({"traveller": "40 mg", "tip_most": "14000 rpm"}, ["--traveller", "40 mg", "--tip-most", "14000 rpm"]),
    "energy": ({"traveller": "40 mg", "guide": "fixed"}, ["--traveller", "40 mg", "--guide-fixed"]),
    "cost": ({"rate": "24", "fit": "latest"}, ["--rate", "24", "--fit", "latest"]),
    "breaks": ({"speed": "16500 rpm"}, ["--speed", "16500 rpm"]),
    "compare": ({"b_traveller": "40 mg", "b_speed": "17000 rpm"}, ["--with", "traveller=40mg, speed=17000rpm"]),
}  # fmt: skip


@pytest.fixture(scope="module")
def served():
    made = make_app("demo")
    yield made
    made.state.work.background.close()
    made.state.work.jobs.close()


def ground(*, where="demo", names=NAMES, records="demo", others=None):
    return Ground(mill=verbs.open_mill("demo"), where=where, names=names, records=records, others=others or {})


def asked(typed, **more):
    return Asked(ground=ground(**more), typed=typed)


def numbers(text):
    """All numbers of a text, thousands joined."""
    joined = re.sub(r"(?<=\d)[ \u202f](?=\d{3}(?!\d))", "", text)
    return set(re.findall(r"\d+(?:\.\d+)?", joined))


def words_of(html):
    """The words of a page's answer, without its drawings."""
    answer = html[html.index('class="paid-side"') : html.index("</main>")]
    return unescape(re.sub(r"<[^>]+>", " ", re.sub(r"<svg.*?</svg>", " ", answer, flags=re.DOTALL)))


def without_picture(output):
    """The words of a command, without the picture drawn in letters."""
    drawn = r"^(Spindle speed through the doff, rpm|Tension in the yarn through the doff.*)$"
    start = re.search(drawn, output, re.MULTILINE)
    if start is None:
        return output
    after = re.search(r"^\S", output[start.end() + 1 :], re.MULTILINE)
    assert after
    return output[: start.start()] + output[start.end() + 1 + after.start() :]


@pytest.mark.parametrize("key", ASKED)
def test_page_command_and_paper_tell_the_same_numbers(served, key, tmp_path):
    typed, options = ASKED[key]
    done = CliRunner().invoke(ringwright, [key, "demo", *PLACE, *options, "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    query = urlencode(typed, quote_via=quote)
    page, paper, file = requests_of(
        served,
        [("GET", f"/better/{key}/F1/AV30K{more}?{query}", b"", {}) for more in ("", "/sheet.pdf", "/sheet.html")],
    )
    assert (page.status, paper.status, file.status) == (200, 200, 200)
    told = numbers(without_picture(done.stdout))
    assert len(told) > 12
    assert numbers(words_of(page.text)) == told
    printed = " ".join(one.extract_text() for one in PdfReader(io.BytesIO(paper.body)).pages)
    assert [one for one in told if one not in "".join(printed.split())] == []
    kept = unescape(re.sub(r"<[^>]+>", " ", file.text[file.text.index("<body>") :]))
    assert told <= numbers(kept)
    made = {path.suffix: path for path in tmp_path.iterdir()}
    assert {".pdf", ".html", ".json"} <= set(made)
    paper_of_command = " ".join(one.extract_text() for one in PdfReader(made[".pdf"]).pages)
    assert paper_of_command.partition("Made 20")[0] == printed.partition("Made 20")[0]


def test_quick_questions_answer_when_opened_and_long_ones_wait(served):
    pages = requests_of(served, [("GET", f"/better/{key}/F1/AV30K", b"", {}) for key in QUESTIONS])
    for one, page in zip(QUESTIONS.values(), pages, strict=True):
        assert page.status == 200, one.key
        assert one.question in unescape(page.text)
        assert ("sheet.pdf" in page.text) is not one.long, one.key
    assert not served.state.work.jobs._jobs
    assert request(served, f"/better/{quote('wealth')}/F1/AV30K").status == 422
    assert request(served, "/better/energy/F9/AV30K").status == 422


def test_paper_of_a_long_answer_that_is_not_there_leads_back_to_its_page(served):
    reply = request(served, "/better/improve/F1/AV30K/sheet.pdf?aim=cost&ask=1")
    assert reply.status == 303
    assert reply.headers["location"].startswith("/better/improve/F1/AV30K?")
    assert not served.state.work.jobs._jobs


@pytest.mark.parametrize(
    ("key", "typed", "sentence"),
    [
        ("course", {"steps": "2.5"}, "Corners is 2.5; it must be a whole number"),
        ("energy", {"traveller": "heavy"}, 'Traveller is "heavy"'),
        ("energy", {"friction": "0.9"}, "0.9"),
        ("compare", {}, "the same as A"),
        ("compare", {"b_traveller": "heavy"}, '"heavy"'),
        ("cost", {"rate": "0"}, "0.1 to 2000"),
        ("cost", {"rate": "20", "counts": COUNTS}, "End breaks is given beside counts"),
        ("breaks", {"counts": COUNTS, "records": "yes"}, "Counts of breaks and Take the mill's records is both given"),
        ("breaks", {"counts": "breaks, spindle hours\n90, many"}, "the page's field, line 2, spindle hours"),
        ("calibrate", {}, "Paste them, or take a file"),
        ("improve", {"counts": COUNTS}, "given for production"),
        ("improve", {"reach": "guide=5 mm"}, "Reach of the parts"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence_that_names_the_field(key, typed, sentence):
    with pytest.raises(Refusal, match=re.escape(sentence)):
        answer_now(key, asked(typed))


def test_a_fault_stands_beside_its_field_and_what_was_typed_is_kept(served):
    reply = request(served, f"/better/energy/F1/AV30K?traveller={quote('a heavy one')}&speed=16000rpm")
    assert reply.status == 422
    assert re.search(r'id="q-traveller"[^>]*value="a heavy one"[^>]*aria-invalid="true"', reply.text)
    assert re.search(r'id="e-traveller" role="alert">Traveller is &#34;a heavy one&#34;', reply.text)
    assert 'id="e-speed"' not in reply.text


@pytest.mark.parametrize(
    ("key", "typed"),
    [
        ("energy", {"fit": "FOLDER/calibration/F1-AV30K-2026-03-14.toml"}),
        ("energy", {"fit": "2020-01-01"}),
        ("compare", {"frame_b": "F1", "mill_b": "FOLDER"}),
        ("compare", {"frame_b": "F3", "fit_b": "FOLDER/calibration/F1-AV30K-2026-03-14.toml"}),
        ("breaks", {"records": "FOLDER"}),
        ("calibrate", {"readings": "FOLDER/readings_F1_AV30K.csv"}),
        ("cost", {"counts": "FOLDER/readings_F1_AV30K.csv"}),
    ],
)
def test_no_field_reads_a_file_or_a_folder_of_the_server(key, typed):
    given = {name: word.replace("FOLDER", str(demo_mill_path())) for name, word in typed.items()}
    with pytest.raises(Refusal, match=r"it must be (one of|a heading)"):
        answer_now(key, asked(given, others={"spare": "demo"}))


def test_what_the_server_lends_is_offered_and_used(tmp_path):
    other = tmp_path / "other"
    shutil.copytree(demo_mill_path(), other)
    text = (other / "frame_f1.toml").read_text(encoding="utf-8")
    assert 'height = "228 mm"' in text
    (other / "frame_f1.toml").write_text(text.replace('height = "228 mm"', 'height = "233 mm"', 1), encoding="utf-8")
    sheet = answer_now("compare", asked({"mill_b": "spare"}, others={"spare": str(other)}))
    assert ("guide above the rail", "228\u202fmm", "233\u202fmm") in sheet.tables[0].rows
    counted = answer_now("breaks", asked({"records": "yes", "speed": "16500 rpm"}))
    assert any(row.name == "Breaks counted" and row.origin == "measured" for row in counted.rows)
    lent = {blank.key for blank in QUESTIONS["compare"].offered(ground(others={"spare": str(other)}))}
    bare = {blank.key for blank in QUESTIONS["compare"].offered(ground(names=("F2", "AV30K")))}
    assert {"mill_b", "fit"} <= lent
    assert not {"mill_b", "fit"} & bare
    assert "records" not in {blank.key for blank in QUESTIONS["cost"].offered(ground(records=""))}


def form(fields, file=None):
    edge = b"--------edge"
    parts = [
        b'content-disposition: form-data; name="%s"\r\n\r\n%s' % (key.encode(), text.encode())
        for key, text in fields.items()
    ]
    if file:
        name, content = file
        head = b'content-disposition: form-data; name="file"; filename="%s"\r\ncontent-type: text/csv\r\n\r\n'
        parts.append(head % name.encode() + content)
    body = b"".join(b"--" + edge + b"\r\n" + part + b"\r\n" for part in parts) + b"--" + edge + b"--\r\n"
    return body, OWN | {"content_type": f"multipart/form-data; boundary={edge.decode()}"}


def test_a_file_of_counts_goes_into_the_address_and_into_the_answer(served):
    body, headers = form({"ask": "1", "speed": "16500 rpm", "counts": ""}, ("counts.csv", COUNTS.encode()))
    sent = request(served, "/better/breaks/F1/AV30K?u=in", method="POST", body=body, **headers)
    assert sent.status == 303
    given = parse_qs(urlsplit(sent.headers["location"]).query)
    assert given["counts"] == [COUNTS.strip()]
    assert given["speed"] == ["16500 rpm"]
    assert given["u"] == ["in"]
    page = words_of(request(served, sent.headers["location"]).text)
    assert "by regression" in page
    assert "counts in the page's field" in page


@pytest.mark.parametrize(
    ("file", "sentence"),
    [
        (("counts.xls", b"breaks, spindle hours\n90, 8000\n"), "a CSV file, its name ending with .csv or .txt"),
        (("counts.csv", b"\xff\xfe\x00"), "CSV in UTF-8"),
        (("counts.csv", b"breaks, spindle hours\n" + b"90, 8000\n" * 900), "at most 6000 letters long"),
        (("counts.csv", b"x" * (600 * 1024)), "at most 512 kB"),
    ],
)
def test_a_file_that_cannot_be_taken_is_refused_and_nothing_is_lost(served, file, sentence):
    body, headers = form({"ask": "1", "speed": "16 500 rpm"}, file)
    reply = request(served, "/better/breaks/F1/AV30K", method="POST", body=body, **headers)
    assert reply.status == 422
    assert sentence in unescape(reply.text)
    assert 'value="16 500 rpm"' in reply.text


def test_a_form_of_another_site_is_refused(served):
    body, headers = form({"ask": "1"})
    away = headers | {"origin": "http://elsewhere.example"}
    assert request(served, "/better/breaks/F1/AV30K", method="POST", body=body, **away).status == 403
    assert request(served, "/better/calibrate/F1/AV30K/keep", method="POST", body=b"date=2026-03-14").status == 403


def test_an_answer_follows_the_units_of_its_address(served):
    page = words_of(request(served, "/better/compare/F1/AV30K?frame_b=F4&yarn_b=AV60C&u=Ne,in").text)
    assert re.search(r"AV30K, \d+(\.\d+)?\s*Ne", page)
    assert re.search(r"1\.575\s*in", page)
    assert not re.search(r"\d\s*mm\b", page)
    assert not re.search(r"\d\s*tex\b", page)


def test_numbers_are_read_in_any_unit_of_their_quantity():
    milligrams = answer_now("energy", asked({"traveller": "40 mg"}))
    grams = answer_now("energy", asked({"traveller": "0.04 g"}))
    assert [(one.name, one.value, one.unit) for one in grams.rows] == [
        (one.name, one.value, one.unit) for one in milligrams.rows
    ]


def test_a_long_answer_is_kept_in_all_units_so_that_it_need_not_be_sought_again():
    typed = {"doffs": "64"}
    sheets = answer_long("spread", asked(typed), lambda _: None, lambda: False)
    usual, other = sheet_in(sheets, ()), sheet_in(sheets, ("in", "Ne"))
    room, inches = (
        next(row for row in sheet.rows if row.name == "Least room to the separator") for sheet in (usual, other)
    )
    assert (room.unit, inches.unit) == ("mm", "in")
    assert room.raw == inches.raw
    count = next(row for row in other.tables[0].rows if row[0] == "yarn.count")
    ends = [float(cell.removesuffix("\u202fNe")) for cell in count[2:4]]
    assert ends == sorted(ends)
    assert ends[0] < float(count[1].removesuffix("\u202fNe")) < ends[1]


def test_a_fit_is_kept_from_the_page_only_beside_a_mill_of_ones_own(served, tmp_path):
    mill = tmp_path / "mill"
    shutil.copytree(demo_mill_path(), mill)
    readings = (demo_mill_path() / "readings_F1_AV30K.csv").read_text(encoding="utf-8")
    own = asked({"readings": readings, "drag": "hold as it is"}, where=str(mill))
    assert keep_fit(own, "2026-05-02", replace=False) == "2026-05-02"
    kept = (mill / "calibration" / "F1-AV30K-2026-05-02.toml").read_text(encoding="utf-8")
    assert kept.split(".held]")[1].strip().startswith('"drag" = 1.0')
    assert own.ground.fits[:3] == ("none", "latest", "2026-05-02")
    with pytest.raises(Refusal, match="there already"):
        keep_fit(own, "2026-05-02", replace=False)
    with pytest.raises(Refusal, match="as 2026-03-14"):
        keep_fit(own, "../../2026-05-02", replace=False)
    with pytest.raises(Refusal, match="the demo mill"):
        keep_fit(asked({"readings": readings}), "2026-05-02", replace=False)
    body = urlencode({"date": "2026-05-02"}).encode()
    headers = OWN | {"content_type": "application/x-www-form-urlencoded"}
    assert request(served, "/better/energy/F1/AV30K/keep", method="POST", body=body, **headers).status == 404


def test_what_is_tried_goes_along_from_bench_to_question_and_on(served):
    way = request(served, "/better/F1/AV30K?traveller=40%20mg&b=1&b_speed=17000%20rpm&part=ring&u=in")
    assert way.status == 303
    given = parse_qs(urlsplit(way.headers["location"]).query)
    assert given == {"traveller": ["40 mg"], "b_speed": ["17000 rpm"], "u": ["in"]}
    page = request(served, way.headers["location"]).text
    links = {unescape(link) for link in re.findall(r'href="(/better/[^"]+)"', page)}
    assert "/better/energy/F1/AV30K?traveller=40%20mg&u=in" in links
    assert "/better/compare/F1/AV30K?b_speed=17000%20rpm&u=in" in links
    assert any("sheet.pdf?" in link for link in links)


def test_a_sentence_below_a_row_stands_in_every_form_of_a_sheet():
    table = Table(
        title="T", columns=("a", "b"), rows=(("x", "1"), ("y", "2")), origin="computed", under=("because <so>", "")
    )
    sheet = Sheet(title="S", answer="A.", tables=(table,))
    assert "x  1\n    because <so>\ny  2" in sheet_text(sheet)
    assert "because &lt;so&gt;" in sheet_html(sheet)
    assert [row.get("why") for row in sheet_values(sheet)["tables"][0]["rows"]] == ["because <so>", None]
    assert "because <so>" in PdfReader(io.BytesIO(sheet_pdf(sheet))).pages[0].extract_text()


def test_every_number_of_an_answer_has_its_unit_and_origin():
    for key, (typed, _) in ASKED.items():
        sheet = answer_now(key, asked(typed))
        for row in sheet.rows:
            assert row.origin.partition(",")[0] in {"measured", "computed", "assumed", "common practice"}, row
        for table in sheet.tables:
            assert all(table.columns), table.title
            assert table.origin, table.title


def test_every_command_of_what_pays_writes_its_sheet(tmp_path):
    calls = {
        "spread": [*PLACE, "--doffs", "64"],
        "calibrate": ["demo", *PLACE, "--no-keep"],
        "improve": [*PLACE, "--candidates", "25"],
    }
    for command, options in calls.items():
        out = tmp_path / command
        done = CliRunner().invoke(ringwright, [command, "demo", *options, "--out", str(out)])
        assert done.exit_code == 0, done.output
        title = done.stdout.splitlines()[0]
        (paper,), (page,) = list(out.glob("*.pdf")), list(out.glob("*.html"))
        assert title in " ".join(PdfReader(paper).pages[0].extract_text().split())
        assert title in unescape(page.read_text(encoding="utf-8"))


def test_a_unit_chosen_at_the_door_reaches_the_parts_of_a_search():
    sheets = answer_long("improve", asked({"candidates": "25"}), lambda _: None, lambda: False)
    with written_in(("in",)):
        told = sheet_text(sheet_in(sheets, ("in",)))
    assert not re.search(r"\d\u202fmm\b", told)
