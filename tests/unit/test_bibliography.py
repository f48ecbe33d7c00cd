"""Every number names its source, and every source is known."""

import ast
import re
from math import log10
from pathlib import Path

import pytest

from ringwright.physics import constants
from ringwright.sources import Cited, Grade, Source, bibliography, cited_in, sources_of
from ringwright.sources.tables import traveller_mass_table
from ringwright.units import factors

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "ringwright"
MODULES = sorted(PACKAGE.rglob("*.py"))
# A number at the top of a module in physics or judgement says something about spinning, so it must be cited.
# These modules only say how the solver walks (strides, tolerances, rounds); their numbers claim nothing outside.
SOLVER = {"branch", "family", "limits", "position", "shape", "shoot", "sweep", "taut", "traveller", "kernel", "motion"}
# Nor do these of judgement: how many places are looked at, what counts as rounding, how many decimals are told.
SAMPLING = {"close_look", "inside", "judging", "room"}
JUDGED = [
    path
    for path in MODULES
    if (path.relative_to(PACKAGE).parts[0] == "judgement" and path.stem not in SAMPLING)
    or (path.relative_to(PACKAGE).parts[0] == "physics" and not SOLVER & {path.stem, path.parent.name})
]
TYPED_OUT = "\n".join(
    path.read_text(encoding="utf-8")
    for place in (PACKAGE, ROOT / "authorities", ROOT / "tests")
    for path in sorted(place.rglob("*"))
    if path.suffix in {".py", ".toml"} and path.name != "bibliography.toml"
)


def shown(path):
    return path.relative_to(ROOT).as_posix()


def keys_of_cited_calls(path):
    """The literal source of every call of Cited in a file."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and ast.unparse(node.func).rpartition(".")[2] == "Cited":
            for word in node.keywords:
                if word.arg == "source" and isinstance(word.value, ast.Constant) and isinstance(word.value.value, str):
                    yield word.value.value


def naked_numbers(text):
    """Names bound at the top of a module to bare numbers, alone or inside a literal or plain arithmetic."""
    for node in ast.parse(text).body:
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None and _holds_a_number(node.value):
            yield ast.unparse(node.targets[0] if isinstance(node, ast.Assign) else node.target)


def _holds_a_number(node):
    match node:
        case ast.Constant(value=value):
            return isinstance(value, int | float) and not isinstance(value, bool)
        case ast.UnaryOp(operand=inner):
            return _holds_a_number(inner)
        case ast.BinOp(left=left, right=right):
            return _holds_a_number(left) or _holds_a_number(right)
        case ast.Tuple(elts=parts) | ast.List(elts=parts) | ast.Set(elts=parts) | ast.Dict(values=parts):
            return any(_holds_a_number(part) for part in parts)
    return False


@pytest.mark.parametrize("path", MODULES, ids=shown)
def test_every_cited_number_names_a_source_of_the_bibliography(path):
    assert [key for key in keys_of_cited_calls(path) if key not in bibliography()] == []


@pytest.mark.parametrize("path", JUDGED, ids=shown)
def test_no_number_at_the_top_of_a_module_is_naked(path):
    assert list(naked_numbers(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("text", ["A = 1.2", "A: Final = -3", "A = (1, 2)", "A = {'x': 2.0}", "A = 2 * 3.1"])
def test_a_naked_number_is_seen(text):
    assert list(naked_numbers(text)) == ["A"]


@pytest.mark.parametrize("text", ["A = Cited(1.2, 'm', source='x')", "A = 'x'", "A = True", "def f():\n    b = 1"])
def test_other_things_are_not_taken_for_naked_numbers(text):
    assert list(naked_numbers(text)) == []


@pytest.mark.parametrize("key", bibliography())
def test_every_source_is_used_or_is_marked_background(key):
    used = re.search(rf"""["']{re.escape(key)}["']""", TYPED_OUT) is not None
    assert used or bibliography()[key].background


@pytest.mark.parametrize("key", bibliography())
def test_every_source_has_a_title_a_place_and_an_author(key):
    source = bibliography()[key]
    assert source.author
    assert source.title
    assert source.where
    assert "http" not in str(source)


def test_what_is_only_remembered_was_not_read():
    remembered = [source for source in bibliography().values() if source.grade is Grade.FROM_MEMORY]
    assert remembered
    assert not any(source.read for source in remembered)


def test_a_source_prints_as_one_line_with_its_grade():
    source = Source(key="K", author="A", year=1990, title="T", where="p. 3", grade=Grade.HANDBOOK)
    assert str(source) == "A (1990): T; p. 3 [handbook]"
    unread = Source(key="K", author="A", title="T", where="-", grade=Grade.STANDARD, read=False)
    assert str(unread) == "A: T [standard, not read]"


def test_cited_numbers_of_a_module_are_found_in_mappings_too():
    found = cited_in(constants)
    assert found["CONTRACTION_SLOPE"] == pytest.approx(0.0267)
    assert found["MINIMUM_FIBRES[combed]"].source == "Klein-1987"


def test_sources_are_listed_once_in_the_order_met():
    numbers = [Cited(1, "m", source=key) for key in ("Klein-1987", "ISO-3", "Klein-1987")]
    assert [source.key for source in sources_of(numbers)] == ["Klein-1987", "ISO-3"]


def test_an_unknown_source_is_an_error():
    with pytest.raises(KeyError, match="nobody"):
        sources_of([Cited(1, "m", source="nobody")])


def test_arithmetic_on_a_cited_number_is_no_longer_cited():
    assert type(constants.CV_FROM_U * 2) is float


def test_every_constant_of_the_module_is_offered_by_name():
    own = {name.partition("[")[0] for name in cited_in(constants) if not hasattr(factors, name)}
    assert own == set(constants.__all__)


def test_masses_of_the_traveller_table_are_preferred_numbers():
    # ISO 3, series R40 (from memory): each is 10^(n/40), rounded by at most 1.3 %. A slip in copying falls between two.
    assert "ISO-3" in bibliography()
    table = traveller_mass_table()
    masses = {mass for row in (*table.cotton, *table.blend) for mass in row[1:]}
    for mass in masses:
        steps = 40 * log10(mass * 1e6)
        assert abs(10 ** ((steps - round(steps)) / 40) - 1) < 0.013


def test_the_traveller_table_names_its_source():
    assert traveller_mass_table().source in bibliography()
