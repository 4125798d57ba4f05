"""A file to send stays small enough for a mail, and says what is missing for it."""

import random
import re

import pytest

from app.analysis.reports.sent_report import sent_report
from app.domain.entities.meter import MeterKind
from app.domain.readings import Readings
from app.services.entities import discharges
from app.services.exchange import export_file
from app.web.downloads.battery_file import (
    DETAILS,
    MAX_BYTES,
    made_to_fit,
    min_page_bytes,
    rendered,
)
from tests.builders import NOW, discharge_details
from tests.web.sent import archive_in, file_of, soup_of, table_in

pytestmark = pytest.mark.any_database


def noted(number):
    """A test as it is usually noted: 24 readings, uneven as instruments are."""
    some = random.Random(number)
    rows = range(24)
    volts = [13.2 - 0.02 * i + some.uniform(-0.02, 0.02) for i in rows[:-1]] + [10.0]
    return Readings.of(
        [3600 * (12 - number / 20) * i / 23 for i in rows],
        [round(9 + some.uniform(-0.1, 0.1), 2) for _ in rows],
        [round(value, 2) for value in volts],
        [round(22 + 0.1 * i + some.uniform(-0.5, 0.5), 1) for i in rows],
    )


def logged(minutes):
    """A log with one reading a minute, uneven as instruments are."""
    rows = range(minutes + 1)
    volts = [13.2 - 0.6 * i / minutes + 0.003 * (i * 7 % 5) for i in rows]
    volts[-1] = 10.0
    return Readings.of(
        [60.0 * i for i in rows],
        [9.0 + 0.01 * (i * 13 % 7) for i in rows],
        [round(value, 3) for value in volts],
        [24.0 + 0.1 * (i * 3 % 4) for i in rows],
    )


@pytest.fixture
def many(store, battery):
    """The battery with 40 tests in ten years."""

    def fill(readings_of=None):
        for number in range(40):
            readings = noted(number) if readings_of is None else readings_of()
            details = discharge_details(readings, days_ago=10 + 91 * (39 - number))
            discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
        return battery

    return fill


def test_forty_tests_stay_below_300_kilobytes_with_all_their_readings(client, many):
    text = file_of(client, many())
    assert len(text.encode()) < 300_000
    assert "This file carries all 960 readings" in text
    page = soup_of(text)
    assert len(page.select("details.test figure.course > svg")) == 40
    assert len(page.select("details.test table.trace")) == 40
    assert all(said.text == "All 24 readings." for said in page.select("details.test h3 + p.hint"))
    assert len(table_in(text, "discharge")) == 40


def test_forty_long_logs_stay_below_300_kilobytes_and_say_what_is_missing(client, many):
    text = file_of(client, many(lambda: logged(600)))
    assert len(text.encode()) < 300_000
    carried = sum(
        len(archive_in(text).read(name).splitlines()) - 1
        for name in archive_in(text).namelist()
        if name.startswith("readings/") and name.endswith(".csv")
    )
    assert len(soup_of(text).select("details.test figure.course > svg")) == 40
    said = soup_of(text).select_one("#check > p.caveat").text
    assert f"carries {carried:,} of the {40 * 601:,} readings" in said
    assert carried < 40 * 601
    assert f"{carried:,} of the readings are in the file" in text
    assert "NOT ALL READINGS" in archive_in(text).read("README.txt").decode()


def test_the_figures_of_a_thinned_file_come_from_all_readings(client, store, many):
    battery = many(lambda: logged(600))
    shown = discharges.show_discharge(store, 1).report
    assert f"{shown.delivered_ah:.2f} Ah" in file_of(client, battery)


def test_less_is_shown_before_readings_are_left_out(store, many):
    battery = many()
    sent = export_file.battery_to_send(store, battery.id, NOW.date(), "0.1.0", demo=False)
    heavy = made_to_fit(sent, lambda _: bytes(MAX_BYTES // 4))
    assert int(re.search('data-detail="(.)"', heavy).group(1)) > 0
    assert "This file carries all 960 readings" in heavy
    assert "are left out here to keep the file small" in heavy
    assert len(soup_of(heavy).select("details.test figure.course > svg")) == 40
    assert DETAILS[0].whole >= 40


def test_thinning_keeps_both_ends_and_even_steps(store, many):
    battery = many(lambda: logged(600))
    sent = export_file.battery_to_send(store, battery.id, NOW.date(), "0.1.0", demo=False)
    less = export_file.thinned(sent, 101)
    readings = less.tests[0].test.details.readings
    assert list(readings.elapsed_s) == [360.0 * i for i in range(101)]
    assert less.tests[0].logged == 601
    assert less.thinned
    assert not sent.thinned


@pytest.mark.parametrize(
    ("readings", "about"),
    [
        (Readings.of([], []), {"counted_ah": 90.0}),
        (Readings.of([0, 60], [9, 9]), {}),
        (Readings.of(range(0, 36_000, 100), [0.01] * 360), {}),
        (logged(600), {}),
    ],
    ids=["noted", "two readings", "hardly a load", "logged"],
)
def test_no_page_is_shorter_than_it_is_taken_for_before_it_is_computed(
    store, battery, readings, about
):
    """By this length a forged file is refused: no honest one may be."""
    for number in range(30):
        details = discharge_details(readings, days_ago=10 + 9 * number, load="", **about)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    sent = export_file.battery_to_send(store, battery.id, NOW.date(), "", demo=False)
    report = sent_report(sent)
    for detail in range(len(DETAILS)):
        assert min_page_bytes(sent, detail) < len(rendered(sent, report, detail, b"").encode())
