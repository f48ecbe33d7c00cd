"""The commands ``ringwright course`` and ``ringwright improve`` as a person types them."""

import json
import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from click.testing import CliRunner

from ringwright.cli.main import ringwright
from ringwright.refusal import Refusal
from ringwright.report.course_chart import CourseFigure, CourseLine, course_chart, terminal_course
from ringwright.report.front_chart import FrontFigure, front_chart

DEMO = ("demo", "--frame", "F1", "--yarn", "AV30K")
RPM = 2 * np.pi / 60
FIGURE = CourseFigure(
    best=CourseLine(name="best course", shares=(0.0, 0.1, 1.0), speeds=(1500.0, 1700.0, 1700.0)),
    present=CourseLine(name="as set", shares=(0.0, 1.0), speeds=(1400.0, 1400.0)),
    envelope=CourseLine(name="limit", shares=(0.0, 0.5, 1.0), speeds=(1700.0, 1750.0, 1800.0)),
    limits="yarn strength; spindle",
)


def run(*words):
    return CliRunner().invoke(ringwright, words, catch_exceptions=False)


def test_the_course_is_told_with_its_gain_its_limits_and_what_to_mind():
    told = run("course", *DEMO).output
    assert "The best course makes 9.9 % more than the setting" in told
    assert re.search(r"Traveller speed +\+3\.5 % +common practice", told)
    assert "At ring friction 0.13, the high end of its band, this course would pass traveller heat" in told
    assert "More speed is more noise" in told
    assert max(len(line) for line in told.splitlines()) <= 110


def test_the_course_as_json_is_si_and_names_what_limits_it():
    told = json.loads(run("course", *DEMO, "--json", "--start-most", "13000 rpm", "--tip-most", "14000 rpm").output)
    speeds = told["best"]["speed_rad_per_s"]
    assert speeds[0] == pytest.approx(13000 * RPM)
    assert speeds[-1] == pytest.approx(14000 * RPM)
    assert set(told["envelope"]["limit"]) == {"traveller_speed"}
    assert told["gain_over_as_set"] > 0


def test_the_course_writes_its_figure(tmp_path):
    run("course", *DEMO, "--steps", "4", "--limit", "strength_share=10 %", "--out", str(tmp_path))
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == [f"F1-AV30K-course.{kind}" for kind in ("html", "json", "pdf", "png", "svg")]
    assert len(json.loads((tmp_path / names[1]).read_text())["best"]["share_of_yarn"]) == 4


def test_improve_says_what_to_change_first_and_what_it_is_worth(tmp_path):
    told = run("improve", *DEMO, "--for", "tension", "--candidates", "60", "--keep", "guide-lift",
               "--out", str(tmp_path)).output  # fmt: skip
    assert "First set the traveller to 35.5 mg (now 45 mg)" in told
    assert "guide, rise over the doff" not in told
    assert "What each limit would pay if it were relaxed by 5 %" in told
    assert "Stop and lock out before changing travellers" in told
    assert {path.suffix for path in tmp_path.iterdir()} == {".json", ".svg", ".png", ".pdf", ".html"}
    values = json.loads((tmp_path / "F1-AV30K-improve.json").read_text())
    assert values["best"]["peak_tension_N"] < values["as_set"]["peak_tension_N"]


def test_improve_says_what_the_parts_as_set_lack():
    told = run("improve", "demo", "--frame", "F3", "--yarn", "AV20W", "--candidates", "60").output
    assert "The parts as set lack the room to the separator at the lowest ring friction by" in told
    assert re.search(r"best speeds alone [- ]+\n +not run: a limit of the balloon's shape is passed", told)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("improve", *DEMO, "--for", "speed"), "the aim is"),
        (("course", *DEMO, "--least", "fast"), "--least"),
        (("course", *DEMO, "--steps", "1"), "the number of corners"),
        (("course", *DEMO, "--limit", "heat"), "--limit"),
    ],
)
def test_bad_options_are_refused_in_a_sentence(words, said):
    with pytest.raises(Refusal, match=said):
        run(*words)


def test_a_yarn_without_strength_is_refused_with_the_missing_key(tmp_path):
    run("init", str(tmp_path / "mill"))
    path = tmp_path / "mill" / "yarns.toml"
    lines = path.read_text().splitlines()
    path.write_text("\n".join(line for line in lines if not line.startswith("strength =")))
    with pytest.raises(Refusal, match=r"strength is missing.*mean breaking strength"):
        run("course", str(tmp_path / "mill"), "--frame", "F1", "--yarn", "Y30")


def test_the_figure_of_the_course_is_whole_and_says_its_content():
    drawn = course_chart(FIGURE)
    assert ET.fromstring(drawn).tag.endswith("svg")  # noqa: S314 - our own figure
    assert "best course 14 320 to 16 230 rpm" in drawn.replace("\u202f", " ")
    assert all(word in drawn for word in ("as set", "yarn strength", "spindle", "% of the doff"))


def test_the_hatching_of_the_course_lies_above_the_envelope():
    drawn = ET.fromstring(course_chart(FIGURE))  # noqa: S314 - our own figure
    wall = next(p for p in drawn.iter() if p.get("stroke-width") == "1.6")
    heights = [float(point.split()[1]) for point in wall.get("d", "")[1:].split("L")]
    hatches = [p.get("d", "") for p in drawn.iter() if p.get("stroke-width") == "1.1"]
    lowest = max(float(point.split()[1]) for d in hatches for point in d[1:].split("L"))
    assert hatches
    assert lowest <= max(heights) + 1e-6


def test_the_chart_of_characters_has_one_width_and_both_courses():
    lines = terminal_course(FIGURE, 80)
    assert max(len(line) for line in lines[:-1]) <= 80
    assert any("#" in line for line in lines[:14])
    assert any("o" in line for line in lines[:14])


def test_the_front_leaves_out_what_the_parts_as_set_cannot_run():
    shown = FrontFigure(title="Least peak tension for a production", unit="cN", production=(5e-6, 6e-6, 7e-6),
                        least=(0.2, 0.25, 0.3), present=(0.3, 0.35, float("inf")), changed=(1, 2, 3),
                        as_set=(5.5e-6, 0.4))  # fmt: skip
    drawn = front_chart(shown)
    assert ET.fromstring(drawn).tag.endswith("svg")  # noqa: S314 - our own figure
    assert "nan" not in drawn
    assert "inf" not in drawn
    assert "from 20.0 cN at 18.0 g/h to 30.0 cN at 25.2 g/h" in drawn.replace("\u202f", " ")
