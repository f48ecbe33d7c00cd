"""Columns of results: a unit in every heading, an empty cell where there is no result."""

import math

import pytest

from ringwright.report.columns import Column, columns_csv


def test_every_heading_has_its_unit_and_a_missing_result_is_empty():
    columns = [
        Column(name="time", unit="min", values=[60.0, 7800.0]),
        Column(name="winding tension", unit="cN", values=[0.335, math.nan]),
        Column(name="ring friction coefficient", unit="1", values=[0.1, 0.1]),
    ]
    assert columns_csv(columns) == (
        '"time, min","winding tension, cN",ring friction coefficient\n1,33.5,0.1\n130,,0.1\n'
    )


def test_columns_of_different_length_are_refused():
    with pytest.raises(ValueError, match="one length"):
        columns_csv([Column(name="a", unit="mm", values=[1.0]), Column(name="b", unit="mm", values=[])])
