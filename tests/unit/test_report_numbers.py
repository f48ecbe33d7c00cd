"""How numbers are written; expected words follow the house's number rules, by hand."""

import math

import pytest

from ringwright.report.number import Number, Origin, digits, figures, interval, signed, written

RPM = 2 * math.pi / 60
COMPUTED = Origin.COMPUTED


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (0.335, "cN", "33.5\u202fcN"),
        (16000 * RPM, "rpm", "16\u202f000\u202frpm"),
        (45e-6, "mg", "45\u202fmg"),
        (35.5e-6, "mg", "35.5\u202fmg"),
        (0.222, "mm", "222\u202fmm"),
        (7800.0, "min", "130\u202fmin"),
        (14 * 86400.0, "days", "14\u202fdays"),
        (590.541e-6 / 0.7, "hank", "0.70\u202fhank"),  # 1 hank is 840 yd to the pound: 590.541 tex
        (590.541e-6 / 30, "Ne", "30.0\u202fNe"),
        (20.6 / 60, "m/min", "20.6\u202fm/min"),
        (math.pi / 6, "degrees", "30\u202fdegrees"),
        (46.0, "teeth", "46\u202fteeth"),
        (0.1, "1", "0.10"),
        (-0.004, "%", "\u22120.4\u202f%"),
    ],
)
def test_a_number_is_written_with_its_unit_after_a_narrow_space(value, unit, words):
    assert written(Number(value=value, unit=unit, origin=COMPUTED)) == words


def test_an_interval_follows_in_words():
    number = Number(value=0.335, unit="cN", origin=COMPUTED, low=0.284, high=0.411)
    assert written(number, with_interval=True) == "33.5\u202fcN (28.4 to 41.1)"
    assert interval(number) == "28.4 to 41.1"


def test_nought_has_no_sign_and_an_error_above_nought_has_plus():
    assert digits(-0.04, 0.1) == "0.0"
    assert signed(Number(value=0.0031, unit="%", origin=COMPUTED)) == "+0.3\u202f%"
    assert signed(Number(value=0.0001, unit="%", origin=COMPUTED)) == "0.0\u202f%"


def test_a_step_sets_the_digits():
    assert figures(Number(value=6.52e-3, unit="mm", origin=COMPUTED, step=0.1)) == "6.5"


@pytest.mark.parametrize(
    "wrong", [{"unit": "furlong"}, {"value": math.nan}, {"low": 0.1}, {"low": 0.1, "high": math.inf}]
)
def test_a_number_that_cannot_be_shown_is_refused(wrong):
    with pytest.raises(ValueError, match=r"unit|finite|interval"):
        Number(**({"value": 1.0, "unit": "cN", "origin": COMPUTED} | wrong))
