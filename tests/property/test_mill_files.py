"""What holds for any mill file: it is read, or refused in sentences; never anything else."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from ringwright.mill import TRAVELLER_MASSES, Mill, Traveller, demo_mill_path, read_mill
from ringwright.mill.starter import starter_texts
from ringwright.refusal import Fault, Refusal
from ringwright.units import show

DEMO = read_mill(demo_mill_path())
WHOLE = "\n".join(starter_texts().values())
LINES = WHOLE.splitlines()
SPOILT = st.sampled_from(
    ["", "[", "x", "x = 1", "x = ", '"', "[frame.F1]", "[[frame]]", "[mill.frames.F1]", "mill = 3",
     "frame = [1, 2]", "= 2",
     "diameter = {a = 1}", "count = 1979-05-27", "wheels = [[1]]", "pairs = 3", "[yarn.Y30.fibres]", "a.b.c = true"]
)  # fmt: skip
VALUES = st.sampled_from(
    ["1", "-1", "0",
     "1e300", "nan", "inf", "true", '""', '"40 mm"', '"30 Ne"', '"-5 %"', '"\\u0000"', "[]", "{}", "[[]]",
     "1979-05-27", '"0 Ne"', '"999999999999999999999 mm"', '"measured"']
)  # fmt: skip


def _read(text: str) -> Mill:
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "mill.toml"
        file.write_text(text, encoding="utf-8")
        return read_mill(file)


def _faults(text: str) -> tuple[Fault, ...] | None:
    """The faults of a text, None if it reads; anything else than a refusal fails the test."""
    try:
        _read(text)
    except Refusal as refusal:
        return refusal.faults
    return None


def _check_read_or_refused(text: str) -> None:
    faults = _faults(text)
    if faults is not None:
        assert faults
        for fault in faults:
            assert fault.where.startswith("mill.toml") or "mill.toml is without" in str(fault)
            assert fault.got
            assert fault.wants


@settings(max_examples=150)
@given(place=st.integers(min_value=0, max_value=len(LINES)), line=SPOILT)
def test_a_line_put_anywhere_gives_a_mill_or_a_refusal(place, line):
    _check_read_or_refused("\n".join([*LINES[:place], line, *LINES[place:]]))


@settings(max_examples=150)
@given(place=st.sampled_from([n for n, line in enumerate(LINES) if " = " in line and line[0] != "#"]), value=VALUES)
def test_any_value_in_place_of_another_gives_a_mill_or_a_refusal(place, value):
    key = LINES[place].split(" = ")[0]
    _check_read_or_refused("\n".join([*LINES[:place], f"{key} = {value}", *LINES[place + 1 :]]))


@settings(max_examples=60)
@given(text=st.text(max_size=60))
def test_any_text_gives_a_mill_or_a_refusal(text):
    _check_read_or_refused(text.encode("utf-8", "ignore").decode("utf-8"))


@given(mass=st.floats(min_value=5.05e-6, max_value=600e-6))
def test_a_traveller_has_a_mass_of_the_series_or_its_neighbours_are_named(mass):
    below = max(step for step in TRAVELLER_MASSES if step <= mass * (1 + 1e-9))
    above = min(step for step in TRAVELLER_MASSES if step >= mass * (1 - 1e-9))
    near = min(abs(mass / below - 1), abs(mass / above - 1))
    assume(abs(near - 0.002) > 1e-6)
    if near <= 0.002:
        assert Traveller(name="T", mass=mass, profile="low bow").mass in {below, above}
        return
    with pytest.raises(ValidationError, match=f"{show(below, 'mass', 'mg')} and {show(above, 'mass', 'mg')}"):
        Traveller(name="T", mass=mass, profile="low bow")


@settings(max_examples=40)
@given(factor=st.floats(min_value=1.001, max_value=1.2))
@pytest.mark.parametrize("name", ["F1", "F2", "F3", "F4"])
def test_a_cop_wider_than_the_ring_allows_is_never_taken(name, factor):
    frame = DEMO.frames[name]
    build = frame.build.model_copy(update={"cop_diameter": (frame.ring.diameter - 2e-3) * factor})
    written = frame.model_dump() | {"build": build.model_dump()}
    with pytest.raises(ValueError, match=r"build\.cop_diameter is"):
        type(frame).model_validate(written)
