"""Units that a reader chooses in place of the usual ones: figures, words and axes follow, and no number changes."""

from __future__ import annotations

import re

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from ringwright.cli.main import ringwright as cli
from ringwright.lessons.catalogue import LESSONS
from ringwright.lessons.ground import Ground
from ringwright.lessons.lesson import read_control
from ringwright.report.number import Number, Origin, interval, shown_in, written
from ringwright.report.sheets.sheet import Sheet
from ringwright.units import chosen, chosen_units, from_unit, show, written_in
from ringwright.verbs import app
from ringwright.web.writing import field_text, slider_span
from ringwright.workbench.parts.catalogue import PARTS
from ringwright.workbench.parts.centring import TypedRound, judge_typed, run_in_time
from ringwright.workbench.whole import rooms_of

ALL = ("Ne", "tpi", "in")
# Units of a standard or of a stiffness stay: tenacity cN/tex, viscosity mm2/s as on the drum of oil, a spring's N/mm,
# an unbalance in g mm.
LEFT_OVER = re.compile(r"(?<![/\w])(?<!g )mm\b(?!2)|(?<!/)\btex\b|\bt/m\b|\bmillimet|\bcentimet|turns (per|to the) met")
USUAL = re.compile(r"\d\s*(in|Ne|tpi)\b|, (in|Ne|tpi)\b")


@pytest.fixture(scope="module")
def mill():
    return app.open_mill("demo")


@pytest.fixture(scope="module")
def grounds(mill):
    pairs = {one.frame: one.yarn for one in mill.settings.values()}
    return [Ground(mill=mill, frame=frame, yarn=yarn) for frame, yarn in pairs.items()]


def words_of(lesson, ground, shown):
    """All that a lesson says: sentences, table, and the words within its drawings."""
    rows = [
        f"{row.name}: {' / '.join(one if isinstance(one, str) else written(one) for one in (row.other, row.moved))}"
        for row in shown.rows
    ]
    figures = [picture.figure for picture in shown.pictures]
    said = [word for picture in shown.pictures for word in (picture.title, picture.said, picture.below)]
    if shown.chart:
        figures.append(shown.chart.figure)
        said += [shown.chart.title, shown.chart.said]
    drawn = [text for figure in figures for text in re.findall(r">([^<>]+)<", figure)]
    return [
        lesson.think, lesson.control.why_words, lesson.left_out, shown.moved, shown.other, shown.when, *shown.reasons,
        *shown.notes, *lesson.sources(ground), *rows, *said, *drawn,
    ]  # fmt: skip


def test_figures_follow_the_units_chosen_and_only_inside():
    height, twist = 0.4064, 800.0  # 16 in by definition of the inch; 800 / 39.3701 = 20.32 turns to the inch
    with written_in(ALL):
        assert show(height, "length", "mm", 1) == "16.000\u202fin"
        assert show(1 / 50800, "count", "tex", 1).endswith("Ne")
        assert written(Number(value=twist, unit="t/m", origin=Origin.COMPUTED)) == "20.3\u202ftpi"
        assert written(Number(value=3.0, unit="t/m", origin=Origin.COMPUTED)) == "0.08\u202ftpi"
        assert written(Number(value=0.00005, unit="mm", origin=Origin.COMPUTED, step=0.01)) == "0.0020\u202fin"
        assert shown_in(25.4e-3, "length", "mm", 1.0) == ("1.00", "in")
        assert chosen("cN") == "cN"
        with written_in(()):
            assert show(height, "length", "mm", 1) == "406.4\u202fmm"
        assert chosen("mm") == "in"
    assert show(height, "length", "mm", 1) == "406.4\u202fmm"
    assert chosen_units() == ()


def test_the_interval_of_a_count_runs_the_other_way():
    count = Number(value=20e-6, unit="tex", origin=Origin.COMPUTED, low=19e-6, high=21e-6)
    with written_in(("Ne",)):
        low, high = (float(word) for word in interval(count).split(" to "))
    # 590.54 / tex: 28.1 to 31.1.
    assert (low, high) == (28.1, 31.1)


@pytest.mark.parametrize("span", [(0.0, 0.5, 0.01), (37.0, 66.0, 0.5), (0.0, 140.0, 1.0)])
def test_a_slider_in_inches_keeps_within_its_ends_and_steps_as_finely(span):
    low, high, step = slider_span(span, "length", "mm", "in")
    assert 25.4 * low >= span[0] - 1e-9
    assert 25.4 * high <= span[1] + 1e-9
    assert 25.4 * step <= span[2]
    assert (high - low) / step >= (span[1] - span[0]) / span[2] - 2
    assert field_text(0.00005, "length", "in") == "0.00197 in"


@pytest.mark.parametrize("key", LESSONS)
def test_no_lesson_leaves_a_usual_unit_where_another_was_chosen(grounds, key):
    lesson = LESSONS[key]
    for ground in grounds:
        if lesson.missing(ground):
            continue
        low, high, _ = lesson.control.span(ground)
        control = lesson.control
        ends = [from_unit(end, control.quantity, control.unit) for end in (low, high)]
        for value in (control.start(ground), *ends):
            with written_in(ALL):
                said = words_of(lesson, ground, lesson.answer(ground, value))
            assert [one for one in said if LEFT_OVER.search(one)] == []
    usual = words_of(lesson, grounds[0], lesson.answer(grounds[0], lesson.control.start(grounds[0])))
    assert any(LEFT_OVER.search(one) for one in usual), "the search would find a unit that was left"


@pytest.mark.parametrize("key", ["lappet", "control-ring", "off-centre", "wharve"])
def test_a_lesson_asked_in_inches_is_the_lesson_asked_in_millimetres(grounds, key):
    lesson, ground = LESSONS[key], next(one for one in grounds if one.frame == "F1")
    usual = lesson.answer(ground, lesson.control.start(ground))
    with written_in(ALL):
        typed = field_text(lesson.control.start(ground), "length", "in")
        assert read_control(lesson, ground, typed) == pytest.approx(lesson.control.start(ground), rel=1e-12)
        there = lesson.answer(ground, read_control(lesson, ground, typed))
    numbers = [one for row in usual.rows for one in (row.other, row.moved) if isinstance(one, Number)]
    others = [one for row in there.rows for one in (row.other, row.moved) if isinstance(one, Number)]
    assert [one.value for one in others] == pytest.approx([one.value for one in numbers], rel=1e-9)
    assert any(USUAL.search(word) for word in words_of(lesson, ground, there))


def sheet_words(sheet: Sheet) -> list[str]:
    """All that a sheet says but its sources, which stand as they were printed."""
    rows = [f"{row.name}: {row.value} {row.unit}, {row.note}" for row in sheet.rows]
    tables = [word for one in sheet.tables for word in (one.title, *one.columns, one.note, *sum(one.rows, ()))]
    drawn = [text for one in sheet.pictures for text in re.findall(r">([^<>]+)<", one.svg)]
    said = [word for one in sheet.pictures for word in (one.title, one.words)]
    return [sheet.title, sheet.answer, *rows, *tables, *drawn, *said, *sheet.warnings, *sheet.notes]


def sheet_of(mill, key, **tried):
    part = PARTS[key]
    typed = {field.key: field.start(mill, "F1", "AV30K") for field in part.fields} | tried
    return part.sheet(mill, "F1", "AV30K", typed), [word for one in part.fields for word in (one.hint, typed[one.key])]


@pytest.mark.parametrize(
    ("key", "tried"),
    [
        ("creel", {}),
        ("separators", {}),
        ("spindle", {}),
        ("spindle", {"gap": "0.008 in", "runout": "0.02 in"}),
        ("drive", {"which": "the demonstration's round", "against": "F2"}),
        ("drive", {"wharve": "0.87 in"}),
    ],
)
def test_no_part_leaves_a_usual_unit_where_another_was_chosen(mill, key, tried):
    with written_in(ALL):
        sheet, fields = sheet_of(mill, key, **tried)
        said = [*sheet_words(sheet), *fields]
    assert [one for one in said if LEFT_OVER.search(one)] == []
    assert any(LEFT_OVER.search(one) for one in sheet_words(sheet_of(mill, key)[0])), "the search would find one"


def test_what_stands_in_a_field_untouched_tries_nothing_whatever_the_units(mill):
    usual = sheet_of(mill, "drive")[0]
    with written_in(ALL):
        there = sheet_of(mill, "drive")[0]
    assert [row.raw for row in there.rows] == [row.raw for row in usual.rows]


def test_a_round_of_centring_and_its_run_through_time_are_told_in_inches(mill):
    typed = TypedRound(shown="demo")
    with written_in(("in",)):
        sheet, _ = judge_typed(mill, "demo", "F1", "AV30K", typed)
        left = [one for one in sheet_words(sheet) if LEFT_OVER.search(one) and ".csv, line" not in one]
    assert left == []
    spindle = next(row[1] for one in sheet.tables if one.title == "Single spindles to correct" for row in one.rows)
    run = run_in_time(("demo", "F1", "AV30K"), mill, typed, spindle, ("in",), lambda _: None, lambda: False)
    assert [one for one in sheet_words(run) if LEFT_OVER.search(one) and ".csv, line" not in one] == []


def test_the_rooms_are_told_in_inches_with_their_remarks(mill):
    trial = app.trial(no_control_ring=True)
    with written_in(("in",)):
        rooms = rooms_of(mill, "F1", "AV30K", trial)
        told = [word for one in rooms.rooms for word in (one.words, one.interval_words, one.sentence, one.remark)]
    assert [one for one in (*told, *rooms.notes) if LEFT_OVER.search(one)] == []
    assert any(" in" in one.replace("\u202f", " ") for one in told)


def test_the_commands_take_the_units_of_the_pages(tmp_path):
    asked = ["lesson", "wharve", "demo", "--at", "0.98 in", "--units", "in,TPI", "--out", str(tmp_path)]
    done = CliRunner().invoke(cli, asked)
    assert done.exit_code == 0, done.output
    (paper,) = tmp_path.iterdir()
    printed = " ".join(PdfReader(paper).pages[0].extract_text().split())
    for told in (done.output, printed):
        assert "0.98" in told
        assert LEFT_OVER.search(told) is None
    drive = CliRunner().invoke(cli, ["drive", "demo", "--frame", "F1", "--yarn", "AV30K", "--units", "in"])
    assert "wharve, in" in drive.output
    wrong = CliRunner().invoke(cli, ["lesson", "wharve", "--units", "inch"])
    assert "one of Ne, tpi, in" in str(wrong.exception or wrong.output)
