"""How sure a value is, as the mill's file says it."""

import pytest

from ringwright.mill import demo_mill_path, read_mill
from ringwright.mill.field import Stated
from ringwright.mill.spread import read_spread
from ringwright.refusal import Refusal

MASS = Stated("mass", "mass", "mg", (5, 630))
COUNT = Stated("count", "count", "tex", (3, 200))
FRICTION = Stated("friction", "ratio", "1", (0.02, 0.8))


@pytest.mark.parametrize(
    ("text", "field", "low", "high"),
    [
        ("0.08 to 0.13", FRICTION, 0.08, 0.13),
        ("44 to 46 mg", MASS, 44e-6, 46e-6),
        ("44 mg to 46 mg", MASS, 44e-6, 46e-6),
        ("59.054 to 29.527 Ne", COUNT, 10e-6, 20e-6),  # 590.54 / Ne tex
    ],
)
def test_two_ends_are_read_with_the_unit_once_or_twice(text, field, low, high):
    assert read_spread(text, field) == pytest.approx((low, high), rel=1e-4)


@pytest.mark.parametrize("text", ["0.08", "0.1 to 0.1", "a to b", "0.08 to 9", "44 to 46"])
def test_ends_that_cannot_be_are_refused(text):
    with pytest.raises(Refusal):
        read_spread(text, MASS if text == "44 to 46" else FRICTION)


def test_every_fault_of_a_spread_is_told_with_its_line(tmp_path):
    folder = tmp_path / "mill"
    folder.mkdir()
    for file in demo_mill_path().glob("*.toml"):
        (folder / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    with (folder / "yarns.toml").open("a", encoding="utf-8") as file:
        file.write(
            '[yarn.AV20W.spread]\ncount = "29 to 31 tex"\nstrenght = "1 to 2 N"\ndrag_coefficient = "1.1 to 1.2"\n'
        )
        file.write('strength = "400 to 500"\n')
    with pytest.raises(Refusal) as refused:
        read_mill(folder)
    told = [str(fault) for fault in refused.value.faults]
    assert len(told) == 3
    assert all(t.startswith("yarns.toml, line ") for t in told)
    assert "spread.strenght is the spread of no known quantity" in told[0]
    assert "spread.drag_coefficient" in told[1]
    assert "on both sides of the value" in told[1]
    assert "without a unit" in told[2]


def test_the_demo_says_how_sure_its_yarn_is():
    assert read_mill(demo_mill_path()).yarns["AV30K"].spread["count"] == "19.4 to 20.0 tex"
