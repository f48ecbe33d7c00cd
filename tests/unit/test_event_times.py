"""Times of records: formats against the standard library, clock changes against the law and against zoneinfo."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pyarrow as pa
import pytest

from ringwright.events.clock import read_clock
from ringwright.events.zones import to_local, to_utc

EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - local time


def us(at: datetime) -> int:
    return (at.replace(tzinfo=None) - EPOCH) // timedelta(microseconds=1)


@pytest.mark.parametrize(
    "form",
    ["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M", "%m/%d/%Y %I:%M:%S %p", "%d/%m/%y %H:%M:%S", "%Y%m%d%H%M%S",
     "%d.%m.%Y, %H:%M:%S.%f"],
)  # fmt: skip
def test_times_read_as_the_standard_library_reads_them(form):
    rng = np.random.default_rng(4)
    moments = [datetime(1999, 12, 30) + timedelta(seconds=int(s)) for s in rng.integers(0, 10**9, 400)]  # noqa: DTZ001
    texts = [at.strftime(form) for at in moments]
    clock = read_clock(pa.array(texts), form)
    assert clock.reads.all()
    assert clock.exists.all()
    assert clock.local_us.tolist() == [us(datetime.strptime(text, form)) for text in texts]  # noqa: DTZ007


@pytest.mark.parametrize(
    "text",
    ["2026-02-29 10:00:00", "2026-00-10 10:00:00", "2026-04-31 10:00:00", "2026-01-01 24:00:00", "2100-02-29 00:00:00"],
)  # fmt: skip
def test_a_date_or_hour_that_does_not_exist_is_told(text):
    clock = read_clock(pa.array([text, "2024-02-29 23:59:59"]), "iso")
    assert clock.reads.tolist() == [True, True]
    assert clock.exists.tolist() == [False, True]


def test_counts_and_offsets_give_utc():
    clock = read_clock(pa.array(["1774778400000", "x"]), "unix ms")  # 2026-03-29 10:00 UTC
    assert clock.reads.tolist() == [True, False]
    assert clock.local_us[0] == us(datetime(2026, 3, 29, 10))  # noqa: DTZ001
    clock = read_clock(pa.array(["2026-03-29T12:00:00.5+02:00", "2026-03-29 04:30Z"]), "iso")
    assert (clock.local_us - clock.offset_us).tolist() == [
        us(datetime(2026, 3, 29, 10, 0, 0, 500_000)),  # noqa: DTZ001
        us(datetime(2026, 3, 29, 4, 30)),  # noqa: DTZ001
    ]


def test_the_hour_of_spring_is_missing_and_that_of_autumn_repeats_as_the_law_of_the_union_says():
    # Directive 2000/84/EC, articles 2 and 3: last Sundays of March and October, at 01:00 UTC.
    moments = [datetime(2026, 3, 29, 2, 30), datetime(2026, 3, 29, 3, 0), datetime(2026, 10, 25, 2, 30)]  # noqa: DTZ001
    local = np.array([us(at) for at in moments])
    found = to_utc(local, "Europe/Berlin")
    assert found.missing.tolist() == [True, False, False]
    assert found.first_us[1] == us(datetime(2026, 3, 29, 1, 0))  # noqa: DTZ001
    assert found.first_us[2] == us(datetime(2026, 10, 25, 0, 30))  # noqa: DTZ001
    assert found.second_us[2] == us(datetime(2026, 10, 25, 1, 30))  # noqa: DTZ001


@pytest.mark.parametrize(
    "zone",
    ["Europe/London", "America/New_York", "Asia/Kolkata", "Australia/Lord_Howe", "Africa/Cairo", "America/Sao_Paulo"],
)  # fmt: skip
def test_local_time_becomes_utc_as_zoneinfo_has_it_row_by_row(zone):
    rng = np.random.default_rng(8)
    clock = ZoneInfo(zone)
    moments = [datetime(1995, 1, 1, tzinfo=UTC) + timedelta(minutes=int(m)) for m in rng.integers(0, 20_000_000, 3000)]
    locals_us = np.array([us(at.astimezone(clock)) for at in moments])
    found = to_utc(locals_us, zone)
    assert not found.missing.any()
    for at, first, second in zip(moments, found.first_us.tolist(), found.second_us.tolist(), strict=True):
        fold = at.astimezone(clock).fold
        assert us(at) == (second if fold else first)
    assert to_local(np.array([us(at) for at in moments]), zone).tolist() == locals_us.tolist()
