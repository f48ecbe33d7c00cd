"""Reading and showing trade units."""

from __future__ import annotations

import math

import numpy as np
import pytest

from ringwright.refusal import Refusal
from ringwright.sources.cited import Cited
from ringwright.units import QUANTITIES, from_unit, in_unit, parse, show, show_number, units_as_written

# Expected values by hand arithmetic from the definitions: 1 in = 0.0254 m and 1 lb = 0.45359237 kg (yard and pound
# agreement 1959), hank = 840 yd of 0.9144 m, denier = g / 9000 m (ISO 1144), 1 gf = 9.80665e-3 N (CGPM 3, 1901).
NE_1 = 0.45359237 / (840 * 0.9144)
WRITTEN = [
    ("30 Ne", "count", NE_1 / 30),
    ("30Ne", "count", NE_1 / 30),
    ("Ne 30", "count", NE_1 / 30),
    ("ne30", "count", NE_1 / 30),
    ("30 NE", "count", NE_1 / 30),
    ("0.8 hank", "count", NE_1 / 0.8),
    ("50 Nm", "count", 20e-6),
    ("Nm 50", "count", 20e-6),
    ("19.7 tex", "count", 19.7e-6),
    ("197 dtex", "count", 19.7e-6),
    ("5.31 ktex", "count", 5.31e-3),
    ("180 den", "count", 20e-6),
    ("180 denier", "count", 20e-6),
    ("4 µg/in", "count", 4e-9 / 0.0254),
    ("4 μg/in", "count", 4e-9 / 0.0254),
    ("2e-5 kg/m", "count", 2e-5),
    ("20 tpi", "twist", 20 / 0.0254),
    ("20 turns/inch", "twist", 20 / 0.0254),
    ("800 tpm", "twist", 800),
    ("8 t/cm", "twist", 800),
    ("4.0 TM", "twist multiplier", 4 / 0.0254 * math.sqrt(NE_1)),
    ("TM 4", "twist multiplier", 4 / 0.0254 * math.sqrt(NE_1)),
    ("3828 alpha_tex", "twist multiplier", 3828 * math.sqrt(1e-6)),
    ("121 alpha m", "twist multiplier", 121 * math.sqrt(1e-3)),
    ("16000 rpm", "rotation", 16000 * 2 * math.pi / 60),
    ("16 000 rpm", "rotation", 16000 * 2 * math.pi / 60),
    ("16,000 rpm", "rotation", 16000 * 2 * math.pi / 60),
    ("16\u202f000\u202frpm", "rotation", 16000 * 2 * math.pi / 60),
    ("16\u00a0000 RPM", "rotation", 16000 * 2 * math.pi / 60),
    ("250 Hz", "rotation", 500 * math.pi),
    ("40 mm", "length", 0.04),
    ("40mm", "length", 0.04),
    ("40 MM", "length", 0.04),
    ("1.57 in", "length", 1.57 * 0.0254),
    (".5 in", "length", 0.0127),
    ('1.57"', "length", 1.57 * 0.0254),
    ("1/2 in", "length", 0.0127),
    ("1 3/4 in", "length", 1.75 * 0.0254),
    ('1-3/4"', "length", 1.75 * 0.0254),
    ("1¾ in", "length", 1.75 * 0.0254),
    ("½ in", "length", 0.0127),
    ("\u22125 mm", "length", -0.005),
    ("1 000.5 m", "length", 1000.5),
    ("45 mg", "mass", 45e-6),
    ("1 grain", "mass", 0.45359237 / 7000),
    ("2 lb", "mass", 0.90718474),
    ("18 gf", "force", 0.1765197),
    ("5 mN", "force", 0.005),
    ("16.5 cN/tex", "tenacity", 165000),
    ("18 g/tex", "tenacity", 18 * 9.80665e-3 / 1e-6),
    ("21 m/min", "speed", 0.35),
    ("2 h", "time", 7200),
    ("0.5 g/cm³", "density", 500),
    ("8.5 %", "share", 0.085),
    ("8.5%", "share", 0.085),
    ("0.085", "share", 0.085),
    ("180 °", "angle", math.pi),
    ("7.5 W", "power", 7.5),
    ("2 kPa", "pressure", 2000),
    ("24.5 g/h", "output", 24.5e-3 / 3600),
]

REFUSED = [
    ("1/3 in", "length", ['"1/3 in"']),
    ("5/4 in", "length", ['"5/4 in"']),
    ("1 3/4 rpm", "length", ['"1 3/4 rpm"', "rpm is a unit of"]),
    ("2/40 Ne", "count", ['"2/40 Ne"']),
    ("1/2 Ne", "count", ['"1/2 Ne"']),
    ("30", "count", ["without a unit", "tex, Ne, Nm", '"30 tex"']),
    (30, "count", ["30 without a unit", "tex, Ne, Nm"]),
    ("30 texx", "count", ['"30 texx"', "Did you mean tex?"]),
    ("30 Nee", "count", ["Did you mean Ne?"]),
    ("30 mm", "count", ["mm is a unit of length."]),
    ("16000 m/s", "rotation", ["m/s is a unit of speed.", "rpm, Hz, rad/s"]),
    ("0 Ne", "count", ["finite number, not zero"]),
    ("1e999 mm", "length", ["finite number"]),
    ("5 MN", "force", ['"5 MN"', "Did you mean mN?"]),
    ("1,57 in", "length", ["decimals after a point"]),
    ("16,0000 rpm", "rotation", ["groups of three"]),
    ("16 000,5 rpm", "rotation", ["decimals after a point"]),
    ("4 5 mm", "length", ["groups of three"]),
    ("about 40 mm", "length", ["a length with its unit"]),
    ("mm", "length", ['"mm"', "a length with its unit"]),
    ("", "length", ['""']),
    ("nan tex", "count", ["a count with its unit"]),
    (float("nan"), "share", ["nan", "finite"]),
    (True, "share", ["True", "a share"]),
    (None, "length", ["None"]),
    (["40 mm"], "length", ["a length with its unit"]),
    ("0.3 rpm", "ratio", ["a plain number, without a unit"]),
]


@pytest.mark.parametrize(("text", "quantity", "expected"), WRITTEN)
def test_a_value_reads_as_people_write_it(text, quantity, expected):
    assert parse(text, quantity, "here") == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize(("given", "quantity", "words"), REFUSED)
def test_a_value_that_is_not_certain_is_refused_with_the_units_that_are_accepted(given, quantity, words):
    with pytest.raises(Refusal) as refused:
        parse(given, quantity, "frame.F1.ring.diameter")
    told = str(refused.value)
    assert told.startswith("frame.F1.ring.diameter is ")
    for word in words:
        assert word in told


def test_every_factor_names_its_source():
    for quantity in QUANTITIES.values():
        for unit in quantity.units:
            assert isinstance(unit.factor, Cited)
            assert unit.factor.source in {"SI-brochure", "yard-pound-1959", "ISO-1144"}
            assert unit.factor.where


def test_no_spelling_names_two_units_of_a_quantity():
    for quantity in QUANTITIES.values():
        spellings = [s.casefold() for unit in quantity.units for s in (unit.symbol, *unit.spellings)]
        assert len(set(spellings)) == len(spellings), quantity.name


@pytest.mark.parametrize(
    ("value", "quantity", "unit", "digits", "expected"),
    [
        (0.04, "length", None, None, "40\u202fmm"),
        (0.0398, "length", "mm", 1, "39.8\u202fmm"),
        (16000 * 2 * math.pi / 60, "rotation", None, None, "16\u202f000\u202frpm"),
        (1008 * 2 * math.pi / 60, "rotation", None, 0, "1\u202f008\u202frpm"),
        (-0.005, "length", None, None, "\u22125\u202fmm"),
        (-1e-9, "length", "mm", 1, "0.0\u202fmm"),
        (NE_1 / 30, "count", "Ne", 1, "30.0\u202fNe"),
        (0.085, "share", None, None, "8.5\u202f%"),
        (0.1, "ratio", None, None, "0.1"),
        (math.pi / 2, "angle", None, None, "90°"),
        (0.31234567, "force", "cN", None, "31.23\u202fcN"),
        (float("nan"), "force", None, None, "not known"),
        (float("inf"), "time", None, None, "not known"),
        (0.0, "count", "Ne", None, "not known"),
        (0.0, "length", None, None, "0\u202fmm"),
    ],
)
def test_a_value_is_shown_with_narrow_spaces_and_a_true_minus_sign(value, quantity, unit, digits, expected):
    assert show(value, quantity, unit, digits) == expected


def test_a_number_without_unit_is_shown_in_the_same_way():
    assert show_number(1234567.891, 2) == "1\u202f234\u202f567.89"
    assert show_number(-2.5) == "\u22122.5"


def test_arrays_convert_like_numbers():
    counts = np.array([20e-6, 10e-6])
    assert in_unit(counts, "count", "Nm") == pytest.approx([50, 100])
    assert from_unit(np.array([50.0, 100.0]), "count", "Nm") == pytest.approx(counts)


def test_an_unknown_unit_asked_for_by_the_program_is_a_key_error():
    with pytest.raises(KeyError, match="furlong"):
        show(1.0, "length", "furlong")


def test_the_units_are_listed_with_the_shown_one_first():
    assert units_as_written("length") == "mm, cm, m, km, in, yd"
