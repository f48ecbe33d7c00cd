"""Is a spindle still followed through its whole doff while one waits: on a quiet machine."""

from __future__ import annotations

import time

from ringwright.setting.choice import choose
from ringwright.spindle.study import study_spindle
from ringwright.verbs import app


def test_a_whole_doff_takes_less_than_a_second():
    choice = choose(app.open_mill("demo"), "F1", "AV30K")
    began = time.perf_counter()
    study_spindle(choice)
    taken = time.perf_counter() - began
    print(f"a spindle through its doff: {1000 * taken:.0f} ms")  # noqa: T201
    assert taken < 1.0
