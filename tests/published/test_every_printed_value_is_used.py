"""The authorities and the tests belong together: none unused, none without a source."""

from pathlib import Path

import pytest
from tests.published.agreement import AUTHORITIES, agrees, authority

from ringwright.sources import bibliography

TESTS = "\n".join(path.read_text(encoding="utf-8") for path in Path(__file__).parent.glob("test_published_*.py"))
# These are drawn by a loop over the whole source.
DRAWN_WHOLE = {"SITRA-norms"}
SOURCES = sorted(path.name for path in AUTHORITIES.iterdir() if path.is_dir() and (path.name in bibliography()))


@pytest.mark.parametrize("source", SOURCES)
def test_every_value_of_a_source_is_checked_somewhere(source):
    for name in authority(source):
        drawn = source in DRAWN_WHOLE or f'"{name}"' in TESTS or name.startswith("tex-of-")
        assert drawn, f"{source}: {name} is in no test"
        assert source in TESTS


def test_there_are_many_published_values():
    assert sum(len(authority(source)) for source in SOURCES) >= 45


@pytest.mark.parametrize(
    ("value", "verdict"), [(16.75, True), (16.79, True), (16.84, True), (16.851, False), (16.749, False)]
)
def test_agreement_is_to_half_of_the_last_printed_digit(value, verdict):
    assert agrees(value, "16.8") is verdict
