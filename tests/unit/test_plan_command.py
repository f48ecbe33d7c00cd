"""The commands plan and init as a person runs them."""

from __future__ import annotations

import json
import re
import sys

import pytest

from ringwright.cli.main import main
from ringwright.mill import demo_mill_path, read_mill
from ringwright.report.plan_values import figures_of, plan_values
from ringwright.setting.plan import spin_plan

ORIGIN = re.compile(r"(measured|computed|assumed|common practice|stated)")
NUMBER = re.compile(r"\d")
F1 = ("plan", "demo", "--frame", "F1", "--yarn", "AV30K")


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the program with these words; give its exit status, what it prints, and what it says of errors."""

    def ran(*words):
        monkeypatch.setattr(sys, "argv", ["ringwright", *words])
        status = 0
        try:
            main()
        except SystemExit as done:
            status = int(done.code or 0)
        printed = capsys.readouterr()
        assert "Traceback" not in printed.out + printed.err
        return status, printed.out, printed.err

    return ran


def sections(text):
    """The lines under each heading."""
    found: dict[str, list[str]] = {}
    for line in text.splitlines():
        if line and not line.startswith(" "):
            found[line] = []
        elif line.strip():
            found[list(found)[-1]].append(line)
    return found


def test_every_number_of_the_plan_has_its_unit_and_its_origin(run):
    status, text, _ = run(*F1, "--order", "20 t", "--hours", "120 h")
    parts = sections(text)
    assert status == 0
    for title in ("Yarn and twist", "Draft", "What these three wheels give", "Production", "Traveller", "Order"):
        for line in parts[title]:
            value = line[38:].strip()
            if not NUMBER.search(value):
                continue  # a heading inside the section
            if title == "Draft" or "draft" in line:  # a draft is a plain ratio
                assert ORIGIN.search(line) or value.endswith("hank"), line
            elif line.startswith(" " * 38):  # the same figure in the other unit
                assert re.fullmatch(r"[\d. ]+ (Ne|tex|tpi|t/m|hank)", value), line
            else:
                assert re.match(r"[\d. ]+ [^\d\s]+\s+" + ORIGIN.pattern, value), line


def test_the_plan_names_what_a_person_changes_the_frame_by(run):
    _, text, _ = run(*F1)
    assert re.search(r"use +90 +45\.00 +19\.67 tex +0\.08 % finer +computed", text)
    assert re.search(r"use +97 +737\.0 t/m +773\.2 t/m +3\.1 t/m less, 0\.40 % +computed", text)
    assert re.search(r"use +38 +1\.188 +0\.64 % more +computed", text)
    assert re.search(r"Yarn made by the frame in a shift +178\.5 kg +computed", text)
    assert re.search(r"Efficiency +92\.0 % +common practice", text)
    assert re.search(r"Yarn made, more than planned by +0\.32 % +computed", text)  # 776.300 / 773.181 x 30 / 30.0252
    assert "Stop and lock out the frame before you open its gearing" in text


def test_each_number_in_brackets_stands_in_the_list_of_sources(run):
    _, text, _ = run(*F1)
    body, _, listed = text.partition("\nSources\n")
    used = {number for marks in re.findall(r"\[([\d, ]+)\]", body) for number in marks.split(", ")}
    assert used
    assert used == set(re.findall(r"^  \[(\d+)\]", listed, re.MULTILINE))


@pytest.mark.parametrize("units", ["tex", "ne"])
@pytest.mark.parametrize(
    ("frame", "yarn"), [(one.frame, one.yarn) for one in read_mill(demo_mill_path()).settings.values()]
)
def test_a_plan_fits_a_terminal(run, frame, yarn, units):
    status, text, _ = run("plan", "demo", "--frame", frame, "--yarn", yarn, "--units", units)
    assert status == 0
    assert max(map(len, text.splitlines())) <= 100
    assert "\u202f" not in text
    assert not re.search(r"\b(nan|inf|None|not known)\b", text)


def test_english_units_lead_where_they_are_asked_for(run):
    _, text, _ = run(*F1, "--units", "Ne")
    assert re.search(r"Count of the yarn +30\.00 Ne +measured", text)
    assert re.search(r"Twist in the yarn +19\.72 tpi +computed", text)
    assert re.search(r"Count of the roving +0\.700 hank +measured", text)
    assert re.search(r"use +90 +45\.00 +30\.03 Ne +0\.08 % finer", text)  # 0.70 x 45 x 0.95318 = 30.025
    # wheel 97 gives 773.18 t/m, 19.639 tpi, where 19.718 are wanted
    assert re.search(r"use +97 +18\.72 tpi +19\.64 tpi +0\.08 tpi less, 0\.40 %", text)


def test_json_gives_si_values_with_their_unit_in_the_key_and_their_origin(run):
    status, text, _ = run(*F1, "--json", "--order", "500 kg", "--hours", "24")
    told = json.loads(text)
    assert status == 0
    assert told["frame"] == "F1"
    assert told["values"].keys() == told["origins"].keys()
    assert set(told["origins"].values()) <= {"measured", "computed", "assumed", "common practice", "stated"}
    assert {key for keys in told["sources"].values() for key in keys} == told["bibliography"].keys()
    # 19.6847 tex; 776.300 t/m; 16 000 rpm; 178.52 kg; 500 kg; 24 h: the same by hand in SI
    assert told["values"]["twist.count_kg_per_m"] == pytest.approx(19.6847e-6, rel=1e-5)
    assert told["values"]["twist.twist_turns_per_m"] == pytest.approx(776.300, rel=1e-5)
    assert told["values"]["speeds.main.spindle_rad_per_s"] == pytest.approx(1675.516, rel=1e-6)
    assert told["values"]["production.per_frame_shift_kg"] == pytest.approx(178.52, rel=1e-4)
    assert told["values"]["order.mass_kg"] == 500
    assert told["values"]["order.time_s"] == 86_400
    assert told["values"]["wheels.twist.best.teeth"] == 97
    assert told["origins"]["order.mass_kg"] == "stated"


def test_no_two_figures_of_a_plan_share_a_key():
    plan = spin_plan(read_mill(demo_mill_path()), "F1", "AV30K")
    assert len(plan_values(plan)["values"]) == len(figures_of(plan))


@pytest.mark.parametrize(
    ("mass", "kilograms"),
    [("20 t", 20_000), ("1.5 tonnes", 1500), ("0.5t", 500), ("1 000 kg", 1000), ("100 lb", 45.359237)],
)
def test_an_order_is_read_as_people_write_it(run, mass, kilograms):
    _, text, _ = run(*F1, "--json", "--order", mass, "--hours", "120 h")
    assert json.loads(text)["values"]["order.mass_kg"] == pytest.approx(kilograms, rel=1e-12)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--order", "20 t"), ["--hours is missing"]),
        (("--hours", "120 h"), ["--order is missing"]),
        (("--order", "twenty", "--hours", "soon"), ['--order is "twenty"', '--hours is "soon"']),
        (("--order", "20 m", "--hours", "5 h"), ['--order is "20 m"; it must be a mass with its unit (t, kg, g, lb)']),
        (("--order", "20", "--hours", "5 h"), ['--order is "20"']),
        (("--order", "0 t", "--hours", "0 h"), ["the mass of the order is 0", "the time for the order is 0"]),
    ],
)
def test_a_bad_order_is_refused_in_a_sentence(run, words, told):
    status, text, errors = run(*F1, *words)
    assert (status, text) == (1, "")
    assert len(errors.splitlines()) == len(told)
    assert all(sentence in errors for sentence in told)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("plan", "demo", "--frame", "F1", "--yarn", "AV30"), "Did you mean AV30K?"),
        (("plan", "demo", "--frame", "G1", "--yarn", "AV30K"), "Did you mean F1?"),
        (("plan", "demo", "--frame", "F4", "--yarn", "AV30K"), "F4 has settings for AV40B, AV60C."),
        (("plan", "no-such-mill", "--frame", "F1", "--yarn", "AV30K"), "no-such-mill is not there"),
    ],
)
def test_what_is_not_there_is_refused_in_a_sentence(run, monkeypatch, tmp_path, words, told):
    monkeypatch.chdir(tmp_path)
    status, text, errors = run(*words)
    assert (status, text) == (1, "")
    assert told in errors


def test_init_writes_a_mill_that_can_be_planned_at_once(run, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    status, text, _ = run("init", "my mill")
    assert status == 0
    assert len(text.splitlines()) == 2
    assert (tmp_path / "my mill" / "mill.toml").is_file()
    assert "ringwright plan 'my mill' --frame F1 --yarn Y30" in text
    status, text, _ = run("plan", "my mill", "--frame", "F1", "--yarn", "Y30")
    assert status == 0
    assert "Spin plan of Y30 on frame F1, Starter mill" in text


def test_init_overwrites_nothing(run, monkeypatch, tmp_path):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mill").mkdir()
    (tmp_path / "mill" / "mine.toml").write_text("mine", encoding="utf-8")
    status, text, errors = run("init", "mill")
    assert (status, text) == (1, "")
    assert "there already" in errors
    assert [path.name for path in tmp_path.rglob("*")] == ["mill", "mine.toml"]
