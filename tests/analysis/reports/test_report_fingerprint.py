import hashlib
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from app.analysis.reports.report_fingerprint import report_number
from app.domain.readings import Readings
from tests.builders import battery_details, discharge_details, steady


def test_the_same_data_give_the_same_number():
    assert report_number(discharge_details()) == report_number(discharge_details())


def test_the_number_is_the_start_of_sha_256():
    expected = hashlib.sha256(b"\0" * 7 + b"\x04" + b"1 of" + b"\0" * 7 + b"\x06" + b"text a")
    assert report_number("a") == expected.hexdigest()[:12]


@pytest.mark.parametrize(
    "change",
    [
        {"load": "lamp"},
        {"notes": "x"},
        {"cut_off_v": 10.5},
        {"readings": steady(amps=9.0000001)},
        {"assumptions": ("one",)},
    ],
)
def test_anything_changed_gives_another(change):
    assert report_number(discharge_details()) != report_number(discharge_details(**change))


def test_texts_side_by_side_are_not_run_together():
    assert report_number("ab", "c") != report_number("a", "bc")
    assert report_number(("a",), "b") != report_number(("a", "b"))


def test_a_moment_is_the_same_whatever_clock_it_is_told_by():
    here = datetime(2026, 1, 1, 12, tzinfo=UTC)
    assert report_number(here) == report_number(here.astimezone(timezone(timedelta(hours=5))))


def test_a_reading_that_is_missing_is_not_one_of_zero():
    one = Readings.of([0, 60], [1, 1], [None, 12.0])
    other = Readings.of([0, 60], [1, 1], [0.0, 12.0])
    assert report_number(one) != report_number(other)
    assert report_number(one) == report_number(Readings.of([0, 60], [1, 1], [None, 12.0]))


def test_what_cannot_be_told_apart_is_refused_and_not_left_out():
    with pytest.raises(TypeError, match="dict"):
        report_number({"a": 1})


def test_a_battery_s_own_changes_count():
    about = battery_details()
    assert report_number(about) != report_number(replace(about, rated_ah=101.0))
