"""Headings, units and dates that are easily misread into a wrong number without a word."""

import numpy as np
import pytest

from app.domain.errors import InvalidInput
from app.ingest.reader import read_file
from app.ingest.typed import read_typed


def log(heading, row=lambda hour: f"{hour},{9 + hour / 100},{13.2 - hour / 10:.2f}", hours=9):
    return "\n".join([heading, *(row(hour) for hour in range(hours))]).encode()


def amps(data):
    return list(read_file(data).readings.current_a[:2])


@pytest.mark.parametrize(
    "heading",
    [
        "Time (h),Battery Current (A),Battery Voltage (V)",
        "Time (h),Unit current,Unit voltage",
        "Time (h),Battery A,Battery V",
        "Elapsed hours,Amps,Volts",
    ],
)
def test_whose_quantity_it_is_does_not_make_it_a_channel(heading):
    imported = read_file(log(heading))
    assert imported.channels == ()
    assert imported.readings.elapsed_s[-1] == pytest.approx(28800)
    assert imported.readings.voltage_v[0] == pytest.approx(13.2)


@pytest.mark.parametrize(
    ("heading", "factor"),
    [
        ("Time (h),Current (milliamps),V", 1e-3),
        ("Time (h),mA Current,V", 1e-3),
        ("Time (h),I (mA) avg,V", 1e-3),
        ("Time (h),Current,V", 1.0),
    ],
)
def test_a_unit_counts_wherever_it_stands_in_a_heading(heading, factor):
    assert amps(log(heading)) == pytest.approx([9 * factor, 9.01 * factor])


@pytest.mark.parametrize(
    ("heading", "seconds"),
    [
        ("Time (ms),A,V", 0.008),
        ("Elapsed time (seconds),A,V", 8),
        ("minutes since start,A,V", 480),
        ("Time (h),A,V", 28_800),
    ],
)
def test_the_unit_of_the_time_is_read_from_its_heading(heading, seconds):
    assert read_file(log(heading)).readings.elapsed_s[-1] == pytest.approx(seconds)


def test_fahrenheit_is_known_by_its_name():
    data = log("Time (h),A,Temp (Fahrenheit)", lambda hour: f"{hour},9.0,59")
    assert read_file(data).readings.temperature_c[0] == pytest.approx(15)


def test_kilowatts_and_milliamp_hours_are_scaled():
    power = log("Time (h),V,Power (kW)", lambda hour: f"{hour},12.5,0.125")
    assert amps(power) == pytest.approx([10, 10])
    count = log("Time (h),V,Capacity (mAh)", lambda hour: f"{hour},12.5,{9000 * hour}")
    assert amps(count) == pytest.approx([9, 9])


def test_a_line_of_units_belongs_to_the_headings_above_it():
    heading = "Time,Charge current,Discharge current,Voltage\nh,A,A,V"
    data = log(heading, lambda hour: f"{hour},0.0,9.5,13.1")
    assert amps(data) == pytest.approx([9.5, 9.5])


def test_what_flows_in_is_not_the_test_and_which_of_two_currents_is_asked():
    data = log("Time (h),Solar current,Load current", lambda hour: f"{hour},3.0,9.5")
    assert amps(data) == pytest.approx([9.5, 9.5])
    data = log("Time (h),Fridge current,Lamp current", lambda hour: f"{hour},3.0,9.5")
    with pytest.raises(InvalidInput, match=r"Fridge.*then 24 Ah.*Lamp.*then 76 Ah"):
        read_file(data)
    data = log("Time (h),Fridge current,Lamp current", lambda hour: f"{hour},9.5,9.5")
    assert any("Lamp current" in said for said in read_file(data).assumptions)


def test_the_unit_in_a_cell_counts_before_the_heading():
    data = log("Time (h),Current (A),V", lambda h: f"{h},{'950 mA' if h else '1.2 A'},13.1")
    assert amps(data) == pytest.approx([1.2, 0.95])
    data = log("Time (h),A,Temp", lambda h: f"{h},9.0,59 °F")
    assert read_file(data).readings.temperature_c[0] == pytest.approx(15)
    with pytest.raises(InvalidInput, match=r"line 2, current”: “13 V”"):
        read_file(log("Time (h),Current (A),V", lambda h: f"{h},13 V,13.1"))
    typed = read_typed([("0:00", "950 mA", "", "", ""), ("1:00", "0,95", "", "", "")])
    assert list(typed.readings.current_a) == pytest.approx([0.95, 0.95])


def test_commas_that_may_be_decimal_marks_are_not_guessed():
    rows = "8:00,10,5,12,90\n9:00,10,4,12,80\n10:00,10,5,12,70\n"
    with pytest.raises(InvalidInput, match="decimal marks"):
        read_file(rows.encode())
    assert amps(("Time,A,V,°C,%\n" + rows.replace("12,", "25,")).encode()) == [10, 10]


def test_a_date_in_the_first_row_alone_adds_no_hours():
    rows = [f"{'2026-06-10' if h == 8 else ''},{h:02d}:00,10,13" for h in range(8, 19)]
    imported = read_file("\n".join(["Date,Time,A,V", *rows]).encode())
    assert np.array(imported.readings.elapsed_s) / 3600 == pytest.approx(np.arange(11))
    night = [f"{'2026-06-10' if h == 20 else ''},{h % 24:02d}:00,10,13" for h in range(20, 31)]
    imported = read_file("\n".join(["Date,Time,A,V", *night]).encode())
    assert np.array(imported.readings.elapsed_s) / 3600 == pytest.approx(np.arange(11))


def test_the_order_of_day_and_month_is_the_shorter_record_and_is_said():
    rows = "3/4/2026 22:00,10,13\n3/4/2026 23:00,10,13\n3/5/2026 00:00,10,13\n"
    imported = read_file(("Time,A,V\n" + rows).encode())
    assert imported.readings.elapsed_s[-1] == pytest.approx(7200)
    assert any("month first" in said for said in imported.assumptions)


@pytest.mark.parametrize("form", ["2026/03/10 {}:00:00", "10.03.2026 {}:00:00.250"])
def test_usual_ways_to_write_a_date_are_read(form):
    data = log("Time,A,V", lambda h: f"{form.format(f'{8 + h:02d}')},9,13")
    assert read_file(data).readings.elapsed_s[-1] == pytest.approx(28800)


def test_a_clock_set_back_during_a_log_loses_and_adds_nothing():
    """25 October 2026, Berlin: 2:59 is followed by 2:00."""
    minutes = [*range(90, 180), *range(120, 240)]
    rows = [f"2026-10-25 {m // 60:02d}:{m % 60:02d},9.0,13.1" for m in minutes]
    imported = read_file("\n".join(["Time,A,V", *rows]).encode())
    assert imported.readings.elapsed_s[-1] == pytest.approx(209 * 60)
    assert any(
        "Before line 92 the clock was set back an hour" in said for said in imported.assumptions
    )


@pytest.mark.parametrize("late", [0, 30, 130])
def test_a_time_that_goes_back_otherwise_is_still_refused(late):
    rows = [f"2026-10-25 10:{m:02d},9.0,{13 - m / 100}" for m in range(60)]
    rows.insert(40, f"2026-10-25 {'09' if late < 60 else '07'}:{late % 60:02d},9.0,13.2")
    with pytest.raises(InvalidInput, match="a time after"):
        read_file("\n".join(["Time,A,V", *rows]).encode())


def test_a_row_that_stands_twice_is_read_once_and_said():
    rows = [f"{h}:00,9.0,13.{h}" for h in (0, 1, 1, 2)]
    imported = read_file("\n".join(["Time,A,V", *rows]).encode())
    assert list(imported.readings.elapsed_s) == [0, 3600, 7200]
    assert any("appears twice" in said for said in imported.assumptions)
