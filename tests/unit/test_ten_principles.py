"""What every page promises of its numbers, units, axes and colours, checked without a browser."""

from __future__ import annotations

import json
import re
from html import unescape
from importlib.resources import files

import pytest
from sample_figures import RPM, tension
from web_request import request

from ringwright.report.number import Origin
from ringwright.report.tension_chart import SpeedCourse, TensionFigure, tension_chart
from ringwright.units import parse
from ringwright.web.address import UNITS, read_address
from ringwright.web.server import make_app
from ringwright.web.writing import chosen_unit, field_text
from ringwright.workbench.field import FIELDS
from ringwright.workbench.numbers import PARTS
from ringwright.workbench.tried import read_tried

WITHOUT_UNIT = re.compile(r"[Ff]riction|coefficient|over balloon tension")
"""Names of plain numbers: a friction, a coefficient, a share of one tension in another."""
SHEET = files("ringwright.web").joinpath("static", "sheet.css").read_text(encoding="utf-8")
TEXT = (
    ("ink", "paper"), ("ink2", "paper"), ("ink3", "paper"), ("woad", "paper"), ("madder", "paper"), ("ink", "wash"),
    ("ink2", "wash"), ("ink", "woadwash"), ("ink2", "woadwash"), ("woad", "woadwash"), ("madder", "woadwash"),
    ("ink", "weldwash"), ("paper", "ink"),
)  # fmt: skip
LINES = (("line", "paper"), ("weldline", "paper"), ("line", "wash"))


@pytest.fixture(scope="module")
def app():
    return make_app("demo")


@pytest.fixture(scope="module")
def shown(app):
    """The bench's answer for every part, in the units of the switch, with a second setting beside it."""
    answers = {}
    for part in PARTS:
        reply = request(app, f"/answer/place/F1/AV30K?part={part}&b=1&b_traveller=40%20mg&u=Ne,tpi,in")
        answers[part] = json.loads(reply.body)
    return answers


def rows(answer):
    body = answer["html"]["about"].partition("<tbody>")[2].partition("</tbody>")[0]
    return re.findall(r"<tr>(.*?)</tr>", body, re.DOTALL)


def words(markup):
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", markup)).split())


@pytest.mark.parametrize("part", PARTS)
def test_no_number_of_a_part_stands_without_its_unit_or_its_origin(shown, part):
    told = rows(shown[part])
    assert told
    for row in told:
        name, *cells = re.split(r"(?=<td)", row)
        origin = re.search(r'data-origin="([^"]*)"', name)
        assert origin, f"{words(name)} has no origin"
        for cell in cells:
            if re.search(r"\d", words(cell)) and not WITHOUT_UNIT.search(words(name)):
                assert 'class="unit"' in cell, f"{words(name)}: {words(cell)}"
                assert origin[1] in {one.value for one in Origin}, f"{words(name)} comes from {origin[1]!r}"


def test_the_one_number_of_each_part_has_its_unit(shown):
    for name, _, number in shown["ring"]["labels"]:
        assert not re.search(r"\d", number) or re.search(r"[A-Za-z%]", number), f"{name}: {number}"


@pytest.mark.parametrize("part", PARTS)
def test_a_part_says_over_what_its_intervals_span_or_that_there_is_none(shown, part):
    assert re.search(r"ntervals span .* \d\.\d\d to \d\.\d\d|o interval is given", words(shown[part]["html"]["about"]))


def test_units_switched_a_hundred_times_leave_every_typed_byte():
    query = "traveller=0.7%20grain&speed=16%20500%20rpm&control_diameter=44.5%20mm&b=1&b_friction=0.12&part=ring"
    at = address = read_address("F1", "AV30K", query)
    for k in range(100):
        for unit in UNITS[k % 2 :]:
            at = read_address("F1", "AV30K", at.unit_links("bench")[unit].partition("?")[2])
    assert at.units == ()
    assert (at.query(), at.a, at.b) == (address.query(), address.a, address.b)


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.key)
def test_a_field_shown_in_other_units_says_the_same_value(app, field):
    as_set = read_tried(app.state.work.shelf.mill(), "F1", "AV30K", {}).choice
    assert as_set is not None
    value = field.value(as_set)
    assert value is not None
    for units in ((), UNITS):
        shown_in = chosen_unit(field.unit, units)
        step = field.span(as_set)[2]
        told = parse(field_text(value, field.quantity, shown_in), field.quantity, field.name)
        assert abs(told - value) < parse(f"{step} {field.unit}".removesuffix(" 1"), field.quantity, "step") / 10


def test_a_small_change_of_speed_is_not_drawn_large():
    course = tension().a
    speed = SpeedCourse(time=(0.0, max(course.time)), speed=(16000 * RPM, 15900 * RPM))
    drawn = tension_chart(TensionFigure(a=course, speed=speed))
    line = re.search(r'd="M[\d.]+ ([\d.]+)L[\d.]+ ([\d.]+)" fill="none" stroke="[^"]+" stroke-width="1.8"', drawn)
    assert line
    assert 0 < float(line[2]) - float(line[1]) < 0.1 * 64  # 0.6 % of the value, on a track 64 px high


@pytest.mark.parametrize("low", [400, 495])
def test_tensions_are_drawn_from_zero_however_little_they_change(low):
    course = tension().a
    flat = tuple(low / 1e5 for _ in course.time)
    raised = tuple(500 / 1e5 for _ in course.time)
    one = type(course)(
        name=course.name, time=course.time, winding_low=flat, winding_high=raised, guide_low=flat, guide_high=flat
    )
    assert re.search(r">0</text>", tension_chart(TensionFigure(a=one)))


def test_a_value_typed_in_other_units_is_told_its_place_on_the_slider(app):
    typed = json.loads(request(app, "/answer/place/F1/AV30K?traveller=0.7%20grain").body)["marks_a"]
    plain = json.loads(request(app, "/answer/place/F1/AV30K?traveller=45.359237%20mg").body)["marks_a"]
    assert typed["traveller"] == plain["traveller"] == pytest.approx((45.36 - 18) / (81 - 18), abs=1e-4)
    assert json.loads(request(app, "/answer/place/F1/AV30K?traveller=45%20mg&m=traveller").body)["marks_a"] == {}


def palette(theme):
    blocks = re.findall(r":root\{(.*?)\}", SHEET, re.DOTALL)
    return dict(re.findall(r"--(\w+):(#[0-9A-Fa-f]{6})", blocks[{"light": 0, "dark": 1}[theme]]))


def luminance(colour):
    """Relative luminance (WCAG 2.2)."""
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_reckoned_as_it_is_defined():
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21.0)
    assert contrast("#777777", "#FFFFFF") == pytest.approx(4.48, abs=0.005)  # a grey known to fall just short


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_palette_can_be_read_and_its_lines_seen(theme):
    colours = palette(theme)
    for pairs, least in ((TEXT, 4.5), (LINES, 3.0)):
        for front, ground in pairs:
            assert contrast(colours[front], colours[ground]) >= least, f"{front} on {ground}"


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_the_other_setting_differs_by_more_than_its_colour(theme, shown):
    colours = palette(theme)
    assert abs(luminance(colours["woad"]) - luminance(colours["madder"])) < 0.2  # grey alone would not do
    drawn = shown["ring"]["pieces"]["sheet"]
    of_b = re.findall(r"<path[^>]*stroke=\"var\(--madder\)\"[^>]*>", drawn)
    assert of_b
    assert all("stroke-dasharray" in path for path in of_b)
