"""``ringwright position``: what it answers, and what it says when the input is wrong."""

from __future__ import annotations

import io
import json
import sys
from typing import Any

import pytest

from ringwright.cli.main import main

GOOD = {
    "yarn_tex": 20,
    "ring_diameter_mm": 40,
    "balloon_height_mm": 160,
    "traveller_speed_rpm": 16000,
    "traveller_mass_mg": 50,
    "winding_diameter_mm": 36,
}
RING = {"control_ring_diameter_mm": 44, "control_ring_depth_mm": 90}
TOML = "\n".join(f"{key} = {value}" for key, value in GOOD.items())


@pytest.fixture
def run(monkeypatch, capfdbinary):
    """Run the command as a person would; gives exit status, output and error text."""

    def call(*words: str, stdin: bytes = b"") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["ringwright", *words])
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        capfdbinary.readouterr()
        with pytest.raises(SystemExit) as stopped:
            main()
        out, err = capfdbinary.readouterr()
        code = stopped.value.code
        assert b"Traceback" not in out + err
        return (code if isinstance(code, int) else 0), out.decode(), err.decode()

    return call


@pytest.fixture
def stream(run):
    """Send lines; gives exit status, the answers, and error text."""

    def call(
        *lines: object, options: tuple[str, ...] = (), end: bytes = b"\n"
    ) -> tuple[int, list[dict[str, Any]], str]:
        written = [line if isinstance(line, bytes) else json.dumps(line).encode() for line in lines]
        status, out, err = run("position", "-", *options, stdin=b"".join(line + end for line in written))
        return status, [json.loads(line) for line in out.splitlines()], err

    return call


@pytest.fixture
def refusal(stream):
    """Send one wrong line; gives its message."""

    def call(line: object) -> str:
        status, (answer,), err = stream(line)
        assert status == 1
        assert answer["outcome"] == "refused"
        assert answer["line"] == 1
        assert "1 of 1 lines" in err
        message: str = answer["message"]
        for sentence in message.splitlines():
            assert sentence.startswith("line 1")
            assert sentence.endswith((".", "?"))
        return message

    return call


def test_a_file_of_toml_and_one_of_json_give_the_same(run, tmp_path):
    (tmp_path / "p.toml").write_text(TOML)
    (tmp_path / "p.json").write_text(json.dumps(GOOD))
    answers = [run("position", str(tmp_path / name), "--json") for name in ("p.toml", "p.json")]
    assert answers[0] == answers[1]
    assert json.loads(answers[0][1])["outcome"] == "steady"


def test_a_person_reads_numbers_with_units_and_origins(run, tmp_path):
    (tmp_path / "p.toml").write_text(TOML)
    status, out, err = run("position", str(tmp_path / "p.toml"))
    assert (status, err) == (0, "")
    # Values of the reference codes for this case, to the digits shown.
    assert any("Winding tension" in line and " 36.1 cN" in line and "computed" in line for line in out.splitlines())
    assert any("Traveller" in line and "50 mg" in line and "stated" in line for line in out.splitlines())
    assert any("Friction" in line and "0.1" in line and "assumed" in line for line in out.splitlines())
    assert "steady" in out.lower()


def test_defaults_that_are_assumptions_are_named_in_the_answer(stream):
    _, (answer,), _ = stream({**GOOD, "ring_traveller_friction": 0.12})
    assert "ring_traveller_friction" not in answer["assumed"]
    assert answer["assumed"]["drag_coefficient"] == 1.0


def test_limits_are_given_only_where_asked_for_and_null_where_there_is_none(stream):
    _, (plain,), _ = stream({**GOOD, "gauge_mm": 70})
    assert "limits" not in plain
    _, (asked,), _ = stream({**GOOD, "gauge_mm": 70}, options=("--limits",))
    assert set(asked["limits"]) == {
        "fold_traveller_mass_mg",
        "neck_traveller_mass_mg",
        "lift_off_traveller_mass_mg",
        "touch_traveller_mass_mg",
    }
    assert asked["limits"]["fold_traveller_mass_mg"] < asked["limits"]["touch_traveller_mass_mg"] < 50
    assert asked["limits"]["lift_off_traveller_mass_mg"] is None


def test_too_light_a_traveller_is_answered_with_the_limit_and_by_how_much(stream):
    status, (answer,), _ = stream({**GOOD, "traveller_mass_mg": 10})
    assert status == 0  # a spinning limit is an answer, not bad input
    assert answer["outcome"] == "fold"
    assert answer["guide_tension_cN"] is None
    assert "10 mg" in answer["message"]
    assert "fold" in answer["message"]


def test_a_balloon_past_half_the_gauge_is_said_to_touch(stream):
    _, (answer,), _ = stream({**GOOD, "gauge_mm": 65})  # the largest radius is 34.57 mm
    assert answer["passed"] == ["separator"]
    assert "2.07 mm past half the gauge" in answer["message"]


def test_bad_lines_are_named_by_number_and_the_others_answered_in_order(stream):
    light = {**GOOD, "traveller_mass_mg": 63}
    status, answers, err = stream(GOOD, b"{bad", b"", light, [1], {**GOOD, "yarn_tex": -1}, GOOD)
    assert status == 1
    assert [answer["outcome"] for answer in answers] == ["steady", "refused", "steady", "refused", "refused", "steady"]
    assert [answer.get("line") for answer in answers] == [None, 2, None, 5, 6, None]
    assert answers[0] == answers[5] != answers[2]
    assert answers[1]["message"].startswith("line 2 is not JSON")
    assert "3 of 6" in err


def test_a_last_line_without_its_end_is_answered_too(run):
    status, out, _ = run("position", "-", stdin=json.dumps(GOOD).encode())
    assert status == 0
    assert json.loads(out)["outcome"] == "steady"


def test_lines_that_end_as_on_windows_are_read(stream):
    status, answers, _ = stream(GOOD, GOOD, end=b"\r\n")
    assert status == 0
    assert len(answers) == 2


def test_a_byte_order_mark_is_no_fault(stream, run, tmp_path):
    status, answers, _ = stream(b"\xef\xbb\xbf" + json.dumps(GOOD).encode(), GOOD)
    assert status == 0
    assert answers[0] == answers[1]
    for name, text in (("p.json", json.dumps(GOOD)), ("p.toml", TOML)):
        (tmp_path / name).write_bytes(b"\xef\xbb\xbf" + text.encode())
        assert run("position", str(tmp_path / name))[0] == 0


@pytest.mark.parametrize("sent", [b"", b"\n", b"  \n\n\r\n"])
def test_an_empty_stream_is_refused(run, sent):
    status, out, err = run("position", "-", stdin=sent)
    assert (status, out) == (1, "")
    assert err.startswith("standard input is empty")


def test_every_missing_key_is_told_at_once(refusal):
    message = refusal({})
    for key in GOOD:
        assert f"{key} is missing" in message


@pytest.mark.parametrize(
    ("changes", "parts"),
    [
        ({"ring_diameter_mm": "40 mm"}, ["ring_diameter_mm", '"40 mm"', "15 to 300 mm", "the key names its unit"]),
        ({"yarn_tex": "20"}, ["yarn_tex", '"20"', "number alone"]),
        ({"yarn_tex": -5}, ["yarn_tex", "-5", "1 to 1000 tex"]),
        ({"yarn_tex": 0}, ["yarn_tex", "0", "1 to 1000 tex"]),
        ({"traveller_speed_rpm": 1e9}, ["traveller_speed_rpm", "1e+09", "100 to 60000 rpm"]),
        ({"yarn_tex": 123456789012345678901234567890}, ["yarn_tex", "1.23457e+29"]),
        ({"air_density_kg_m3": -0.1}, ["air_density_kg_m3", "-0.1", "0 to 5 kg/m3"]),
        ({"fixed_tension_ratio": 0.5}, ["fixed_tension_ratio", "0.5", "0 or 1 to 10"]),
        ({"yarn_tex": [20]}, ["yarn_tex", "1 to 1000 tex"]),
        ({"yarn_tex": {"value": 20}}, ["yarn_tex", "1 to 1000 tex"]),
        ({"yarn_texx": 20}, ["yarn_texx", "Did you mean yarn_tex?"]),
        ({"Yarn_Tex": 20}, ["Yarn_Tex", "Did you mean yarn_tex?"]),
        ({"traveller_mas_mg": 20}, ["traveller_mas_mg", "Did you mean traveller_mass_mg?"]),
        ({"winding_diameter_mm": 40}, ["winding_diameter_mm", "40", "less than the ring's 40 mm"]),
        ({"winding_diameter_mm": 45}, ["winding_diameter_mm", "45", "less than the ring's 40 mm"]),
        ({**RING, "control_ring_diameter_mm": 30}, ["control_ring_diameter_mm", "30", "36 mm"]),
        ({**RING, "control_ring_depth_mm": 160}, ["control_ring_depth_mm", "160", "less than the balloon height's"]),
        ({**RING, "control_ring_depth_mm": 0}, ["control_ring_depth_mm", "more than 0"]),
        ({"control_ring_depth_mm": 90}, ["control_ring_depth_mm", "90", "diameter"]),
        ({"gauge_mm": 38}, ["gauge_mm", "38", "more than the ring's 40 mm"]),
    ],
)
def test_a_wrong_value_is_told_with_its_key_the_value_and_the_range(refusal, changes, parts):
    message = refusal({**GOOD, **changes})
    assert len(message.splitlines()) == 1
    for part in parts:
        assert part in message


def test_two_wrong_values_are_told_together(refusal):
    message = refusal({**GOOD, "yarn_tex": -5, "gauge_mm": "70 mm"})
    assert [sentence.split()[2] for sentence in message.splitlines()] == ["yarn_tex", "gauge_mm"]


@pytest.mark.parametrize(("value", "told"), [(True, "true"), (None, "null")])
def test_a_word_that_is_no_number_is_told_as_it_was_written(refusal, value, told):
    assert f"yarn_tex is {told};" in refusal({**GOOD, "yarn_tex": value})


@pytest.mark.parametrize(
    "line",
    [b"[1, 2]", b'"x"', b"3", b"true", b"null"],
)
def test_a_line_that_is_no_object_is_told_what_to_write(refusal, line):
    message = refusal(line)
    assert line.decode() in message
    assert "object" in message
    assert "yarn_tex" in message


@pytest.mark.parametrize(
    "line",
    [
        b'{"yarn_tex": NaN}',
        b'{"yarn_tex": Infinity}',
        b'{"yarn_tex": 1e999}',
        b'{"yarn_tex": 20,}',
        b"{'yarn_tex': 20}",
        b"{} {}",
        b"\xff\xfe{\x00}\x00",
        b'{"yarn_tex": "\xe9"}',
        b"\x00\x00\x00",
        b"[" * 5000,
        b"yarn_tex = 20",
    ],
)
def test_a_line_that_is_no_json_is_named_and_no_more(refusal, line):
    assert refusal(line).startswith("line 1 is not ")


def test_a_very_long_value_is_told_shortened(refusal):
    assert len(refusal({**GOOD, "yarn_tex": "x" * 5000})) < 300


def test_a_very_long_key_is_told_shortened(refusal):
    assert len(refusal({**GOOD, "k" * 5000: 1})) < 1000


@pytest.mark.parametrize("name", ["none.json", "none.toml"])
def test_a_file_that_is_not_there_is_told_by_its_name(run, tmp_path, name):
    status, out, err = run("position", str(tmp_path / name))
    assert (status, out) == (1, "")
    assert name in err
    assert "no such file" in err
    assert len(err.splitlines()) == 1


def test_a_folder_is_told_to_be_none(run, tmp_path):
    status, _, err = run("position", str(tmp_path))
    assert status == 1
    assert "a directory" in err
    assert "is is" not in err


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("p.json", b""),
        ("p.json", b"{"),
        ("p.json", b"\xff\xfe"),
        ("p.toml", b"yarn_tex = 20 tex"),
        ("p.toml", b"yarn_tex"),
        ("p.toml", b"\xff\xfe"),
        ("p.toml", b"yarn_tex = 20\nyarn_tex = 30\n"),
    ],
)
def test_a_file_that_cannot_be_read_is_told_in_one_sentence(run, tmp_path, name, content):
    (tmp_path / name).write_bytes(content)
    status, out, err = run("position", str(tmp_path / name))
    assert (status, out) == (1, "")
    assert len(err.splitlines()) == 1
    assert f"{name} is not " in err


def test_a_file_of_several_positions_is_pointed_to_the_stream(run, tmp_path):
    (tmp_path / "p.json").write_text(json.dumps(GOOD) + "\n" + json.dumps(GOOD) + "\n")
    status, _, err = run("position", str(tmp_path / "p.json"))
    assert status == 1
    assert "line 2" in err


@pytest.mark.parametrize("value", ["inf", "nan", "-inf", "1979-05-27", "true", '"20 tex"', "[20]", "{a = 1}"])
def test_toml_values_that_are_no_numbers_are_told(run, tmp_path, value):
    (tmp_path / "p.toml").write_text(TOML.replace("yarn_tex = 20", f"yarn_tex = {value}"))
    status, out, err = run("position", str(tmp_path / "p.toml"))
    assert (status, out) == (1, "")
    assert len(err.splitlines()) == 1
    assert "yarn_tex is" in err
    assert "1 to 1000 tex" in err
    assert "datetime" not in err


def test_a_table_in_a_toml_file_is_told_as_an_unknown_key(run, tmp_path):
    (tmp_path / "p.toml").write_text(f"[position]\n{TOML}\n")
    status, _, err = run("position", str(tmp_path / "p.toml"))
    assert status == 1
    assert "position is not a known key" in err
    assert "JSON" not in err


@pytest.mark.parametrize("words", [("position",), ("position", "-", "--jsn"), ("position", "a", "b"), ("positon", "-")])
def test_a_slip_in_the_command_is_told_by_its_usage(run, words):
    status, out, err = run(*words)
    assert status == 2
    assert out == ""
    assert "Error" in err


def test_a_stream_of_three_thousand_lines_is_answered_as_each_alone(stream):
    # Three blocks' worth of distinct positions, some with a control ring, some refused by their limit, some bad.
    lines: list[object] = []
    for i in range(3000):
        keys = {**GOOD, "traveller_mass_mg": 12 + 0.02 * i, "winding_diameter_mm": 18 + i % 18}
        if i % 3 == 0:
            keys |= RING
        lines.append(b"{" if i % 1000 == 999 else keys)
    status, answers, err = stream(*lines)
    assert status == 1
    assert len(answers) == 3000
    assert "3 of 3000" in err
    assert {"steady", "fold", "refused"} <= {answer["outcome"] for answer in answers}
    for i in range(0, 3000, 59):
        _, (alone,), _ = stream(lines[i])
        together = answers[i]
        assert together["outcome"] == alone["outcome"]
        for key, value in alone.items():
            if isinstance(value, float):
                assert together[key] == pytest.approx(value, rel=1e-9, abs=1e-12), key
            elif key not in {"line", "message"}:
                assert together[key] == value, key
