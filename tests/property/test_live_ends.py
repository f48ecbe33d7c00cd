"""Whenever the listener is killed, no event that was answered is lost, and none is doubled."""

from __future__ import annotations

import os
import random

import pytest
from tests.property.live_ends import MOSQUITTO, by_http, by_mqtt

pytestmark = pytest.mark.skipif(os.name == "nt", reason="kill -9 is a signal of POSIX systems")


def test_events_by_http_survive_sudden_ends(tmp_path):
    count = by_http(tmp_path, 2, random.Random(5))  # noqa: S311 - to repeat it
    assert (count.kills, count.gaps) == (2, 0)
    assert count.held == count.different == count.sent


@pytest.mark.skipif(MOSQUITTO is None, reason="needs Debian's mosquitto")
def test_events_by_mqtt_survive_sudden_ends(tmp_path):
    count = by_mqtt(tmp_path, 2, random.Random(5))  # noqa: S311 - to repeat it
    assert (count.kills, count.gaps) == (2, 0)
    assert count.held == count.different == count.sent
