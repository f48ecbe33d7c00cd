"""Whatever the moment of a sudden end, nothing is lost and nothing is doubled."""

from __future__ import annotations

import os
import random

import pytest
from tests.property.sudden_ends import kill_and_count


@pytest.mark.skipif(os.name == "nt", reason="kill -9 is a signal of POSIX systems")
def test_a_take_in_killed_at_random_moments_loses_and_doubles_nothing(tmp_path):
    count = kill_and_count(tmp_path, 6, random.Random(3))  # noqa: S311 - to repeat it
    assert count.kills == 6
    assert count.early_loss == 0
    assert (count.held, count.different) == (count.wanted, count.wanted)
