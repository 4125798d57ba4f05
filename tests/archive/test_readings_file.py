"""Readings as a file that anybody can read: with a counter, without one, and from before it."""

from io import BytesIO

import pytest

from app.archive.readings_file import read_readings, readings_bytes
from app.domain.readings import Readings


@pytest.mark.parametrize("counted", [None, [0.0, 9.0], [None, 9.0]])
def test_readings_come_back_with_their_counter(counted):
    readings = Readings.of([0, 3600], [9, 9], [13.2, None], counted_ah=counted)
    data = b"".join(readings_bytes(readings))
    assert read_readings(BytesIO(data), "r.csv", 2).digest == readings.digest


def test_a_file_from_before_counters_is_read():
    old = (
        b"elapsed_s,current_a,voltage_v,temperature_c,gauge_percent\r\n0,9,13.2,,\r\n60,9,13,,\r\n"
    )
    readings = read_readings(BytesIO(old), "r.csv", 2)
    assert readings.counted_ah is None
    assert list(readings.current_a) == [9, 9]
