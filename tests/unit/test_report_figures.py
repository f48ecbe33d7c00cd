"""The figures: valid, the same each time, legible, and true to what they are given."""

import math
import re
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree as ET

import pytest
import sample_figures as sample

from ringwright.report import svg
from ringwright.report.chart import spread, ticks
from ringwright.report.limits_chart import Room, limits_chart, nearest_first, room_words
from ringwright.report.position_drawing import position_drawing
from ringwright.report.position_inputs import Callout, Height, Separators
from ringwright.report.position_yarn import rub_span, yarn_pen
from ringwright.report.rails_chart import balloon_height_chart, rails_chart
from ringwright.report.tension_chart import tension_chart, unsteady_spans
from ringwright.report.typesetting import png

HOSTILE = '<script>alert(1)</script> & "quoted" \x07 #panic'
SVG = "{http://www.w3.org/2000/svg}"


def figures():
    heights = sample.heights("guide travels", (176, 154), (222, 200))
    fixed = sample.heights("guide fixed", (176, 52), (222, 98))
    return {
        "position": position_drawing(sample.position()),
        "tension": tension_chart(sample.tension(b=sample.course("B", 1.15))),
        "rooms": limits_chart(sample.rooms()),
        "rails": rails_chart(sample.rails()),
        "balloon": balloon_height_chart(heights, fixed),
    }


def parsed(figure):
    return ET.fromstring(figure)  # noqa: S314 - our own figure


def words(figure):
    return [element.text for element in parsed(figure).iter(f"{SVG}text")]


@pytest.mark.parametrize("name", ["position", "tension", "rooms", "rails", "balloon"])
class TestEveryFigure:
    def test_is_valid_xml_that_says_in_words_what_it_shows(self, name):
        root = parsed(figures()[name])
        assert root.tag == f"{SVG}svg"
        assert len(root.get("aria-label")) > 30

    def test_is_the_same_bytes_each_time(self, name):
        assert figures()[name] == figures()[name]

    def test_sets_no_word_smaller_than_eleven_and_a_half_units(self, name):
        sizes = [float(e.get("font-size")) for e in parsed(figures()[name]).iter(f"{SVG}text")]
        assert sizes
        assert min(sizes) >= 11.5  # 8.6 pt at 96 units to the inch

    def test_stays_inside_its_edges(self, name):
        root = parsed(figures()[name])
        width, height = float(root.get("width")), float(root.get("height"))
        for element in root.iter(f"{SVG}path"):
            pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.get("d"))
            if "C" in element.get("d") or float(pairs[0][0]) < 15:  # marks are drawn in a group of their own
                continue
            assert all(-1 <= float(x) <= width + 1 and -1 <= float(y) <= height + 1 for x, y in pairs)

    def test_uses_no_pattern_fill(self, name):
        assert "pattern" not in figures()[name]
        assert "url(" not in figures()[name]


def test_hostile_words_are_told_and_not_obeyed():
    callout = Callout(part="ring", name=HOSTILE, number=sample.mm(40), note=HOSTILE)
    height = Height(name=HOSTILE, number=sample.mm(100))
    drawn = [
        position_drawing(sample.position(callouts=[callout], heights=[height], moment=HOSTILE)),
        limits_chart([Room(name=HOSTILE, not_met=HOSTILE, moment=HOSTILE)]),
        tension_chart(sample.tension(limit_name=HOSTILE, b=sample.course(HOSTILE))),
    ]
    for figure in drawn:
        assert "<script" not in figure
        assert any("<script>alert(1)</script>" in text for text in words(figure))


def test_a_coordinate_that_is_not_finite_is_refused():
    with pytest.raises(ValueError, match="not finite"):
        svg.line((0.0, math.nan), (1.0, 1.0), svg.THIN)


def test_a_picture_is_a_png_and_the_same_bytes_each_time():
    figure = limits_chart(sample.rooms())
    picture = png(figure)
    assert picture.startswith(b"\x89PNG\r\n\x1a\n")
    assert picture == png(figure)


def test_hatching_lines_stay_in_their_rectangle_and_lean_at_45_degrees():
    (path,) = re.findall(r'd="([^"]+)"', svg.hatch((10, 20), (30, 8), svg.SECTION))
    lines = re.findall(r"M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)", path)
    assert len(lines) > 4
    for x0, y0, x1, y1 in (map(float, line) for line in lines):
        assert min(x0, x1) >= 10
        assert max(x0, x1) <= 40
        assert min(y0, y1) >= 20
        assert max(y0, y1) <= 28
        assert abs(x1 - x0) == pytest.approx(abs(y1 - y0), abs=0.02)


def test_labels_that_would_touch_are_moved_apart_and_keep_their_order():
    placed = spread([10.0, 11.0, 40.0], 13.0)
    assert placed == pytest.approx([4.0, 17.0, 40.0])  # the two share their shift: 10.5 - 6.5 and 10.5 + 6.5


def test_an_axis_has_round_steps_and_at_most_four_above_nought():
    assert ticks(89.0) == [0, 25, 50, 75]
    assert ticks(60.0) == [0, 20, 40, 60]
    with pytest.raises(ValueError, match="axis"):
        ticks(math.nan)


class TestPosition:
    def test_keeps_one_scale_across_and_up(self):
        # Control ring 44 mm wide at 100 mm: its two wire sections are the dots of radius 2.8.
        root = parsed(position_drawing(sample.position()))
        ring = [e for e in root.iter(f"{SVG}circle") if e.get("r") == "2.8"]
        heights = [e for e in root.iter(f"{SVG}circle") if e.get("r") == "3" and e.get("fill") == svg.PAPER]
        across = abs(float(ring[0].get("cx")) - float(ring[1].get("cx")))
        datum = max(float(e.get("cy")) for e in heights)
        assert (datum - float(ring[0].get("cy"))) / across == pytest.approx(100 / 44, rel=2e-3)

    def test_yarn_weight_follows_tension(self):
        assert yarn_pen(0.34).width == pytest.approx(0.55 + 34 / 17)
        assert yarn_pen(0.001).width == 0.9

    def test_a_balloon_that_crosses_the_plates_is_told(self):
        narrow = sample.position(separators=Separators(gauge=50e-3, thickness=1e-3))
        span = rub_span(narrow)
        assert span is not None
        low, high = span
        assert 0 < low < high < 0.222
        assert any("rubs" in text for text in words(position_drawing(narrow)))
        assert rub_span(sample.position()) is None

    def test_no_steady_balloon_is_a_sentence(self):
        assert "No steady balloon at this moment." in words(position_drawing(sample.position(balloon=None)))

    def test_a_callout_for_an_absent_part_is_refused(self):
        with pytest.raises(ValueError, match="control ring"):
            position_drawing(sample.position(control_ring=None))


class TestTension:
    def test_the_limit_is_written_in_its_unit(self):
        assert "79" in words(tension_chart(sample.tension()))

    def test_a_limit_far_above_is_told_in_words(self):
        assert any("limit 300 cN" in text for text in words(tension_chart(sample.tension(limit=3.0))))

    def test_strokes_without_a_balloon_are_left_out_and_told(self):
        whole = sample.course()
        gap: dict[str, Any] = {
            name: [math.nan if 50 <= k < 60 else v for k, v in enumerate(getattr(whole, name))]
            for name in ("winding_low", "winding_high", "guide_low", "guide_high", "triangle_high")
        }
        course = replace(whole, **gap)
        (span,) = unsteady_spans(course)
        assert span == (whole.time[49], whole.time[59])
        assert "no steady balloon" in words(tension_chart(sample.tension(a=course)))

    def test_runs_of_different_length_are_refused(self):
        with pytest.raises(ValueError, match="one length"):
            replace(sample.course(), guide_low=[0.1])


class TestRoom:
    def test_stands_nearest_first_and_not_met_last(self):
        names = [room.name for room in nearest_first(sample.rooms())]
        assert names[:2] == ["Tube tip", "Separator"]
        assert names[-1] == "Neck"

    def test_is_told_in_its_own_unit(self):
        told = {room.name: room_words(room) for room in sample.rooms()}
        assert told["Fold"] == "24\u202fmg lighter"
        assert told["Neck"] == "not met: the balloon folds before it necks"

    def test_a_limit_that_is_passed_is_told_by_how_much(self):
        room = Room(name="Separator", used=1.1, room=sample.mm(-2.1, low=-3e-3, high=-1e-3, step=0.1))
        assert room_words(room) == "2.1\u202fmm past it"
        assert "(1.0 to 3.0)" in words(limits_chart([room]))

    def test_needs_a_distance_or_a_sentence(self):
        with pytest.raises(ValueError, match="either"):
            Room(name="Fold")
