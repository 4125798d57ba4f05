"""However a log is written, its readings come in the same."""

from datetime import UTC, datetime

import pytest

from app.domain.units.column import ColumnUse
from tests.ingest.logs import PLAIN, currents, read


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        (PLAIN, "utf-8"),
        (PLAIN, "utf-8-sig"),
        (PLAIN, "utf-16"),
        (PLAIN, "utf-16-le"),
        (PLAIN, "utf-16-be"),
        (PLAIN, "utf-32"),
        ("\ufeff" + PLAIN, "utf-32-be"),
        # Semicolons and decimal commas, a degree sign in Latin-1.
        (
            "Zeit (s);Strom (A);Spannung (V);Temp (°C)\n0;9,0;13,2;21\n"
            "3600;9,1;13;21\n7200;9;12;22",
            "cp1252",
        ),
        # Tabs, as pasted from a spreadsheet.
        ("Time (h)\tCurrent (A)\tVoltage (V)\n0\t9.0\t13.2\n1\t9.1\t13.0\n2\t9.0\t12.0\n", "utf-8"),
        # Minutes and milli-units.
        ("min,current (mA),voltage (mV)\n0,9000,13200\n60,9100,13000\n120,9000,12000\n", "utf-8"),
        # Clock times over midnight.
        ("time,amps,volts\n23:30,9.0,13.2\n00:30,9.1,13.0\n01:30,9.0,12.0\n", "utf-8"),
        # Dates with times, day first.
        (
            "time;A;V\n31.12.2025 23:30;9,0;13,2\n01.01.2026 00:30;9,1;13\n01.01.2026 01:30;9;12",
            "utf-8",
        ),
        # Junk before the heading, a unit behind every number, a blank line.
        (
            "my logger\nserial 17\n\ntime,current,voltage\n0:00,9.0 A,13.2 V\n\n1:00,9.1 A,13.0 V\n"
            "2:00,9.0 A,12.0 V\n",
            "utf-8",
        ),
        # No heading at all.
        ("0,9.0,13.2\n3600,9.1,13.0\n7200,9.0,12.0\n", "utf-8"),
        # Seconds since 1970.
        ("t,I,U\n1767222000,9.0,13.2\n1767225600,9.1,13.0\n1767229200,9.0,12.0\n", "utf-8"),
        # Date and time in columns of their own, a clock of twelve hours, years of two digits.
        (
            "Date;Time;Amps;Volts\n31.12.25;11:30 PM;9,0;13,2\n01.01.26;12:30 AM;9,1;13\n"
            "01.01.26;1:30 AM;9;12",
            "utf-8",
        ),
        # "timestamp" is no current, the charge current is not the discharge current.
        (
            "timestamp,charge current (A),discharge current (A)\n2026-01-01 08:00,0,9.0\n"
            "2026-01-01 09:00,0,9.1\n2026-01-01 10:00,0,9.0\n",
            "utf-8",
        ),
        # Hours without a unit, and totals at the end.
        ("time,current\n0,9.0\n1,9.1\n2,9.0\nTotal,27.1\n", "utf-8"),
        # Power and voltage instead of a current.
        ("time (h),W,V\n0,118.8,13.2\n1,118.3,13\n2,108,12\n", "utf-8"),
        # A current beside power and a count: the current it is.
        ("h,Ah,W,A\n0,0,118,9.0\n1,9,118,9.1\n2,18,108,9.0\n", "utf-8"),
        # Spaces between the columns, bars, old line ends, a mark of the end of the file.
        ("time_s  current_a\n0  9.0\n3600  9.1\n7200  9.0\n", "utf-8"),
        ("time_s|current_a\n0|9.0\n3600|9.1\n7200|9.0\n", "utf-8"),
        ("time_s,current_a\r\n0,9.0\r\n3600,9.1\r\n7200,9.0\r\n\x1a", "utf-8"),
        ("time_s,current_a\r0,9.0\r3600,9.1\r7200,9.0\r", "utf-8"),
        # Ragged rows, a trailing delimiter, a sign of minus from typography.
        ("time_s,current_a,volts,\n0,−9.0,13.2,\n3600,−9.1\n7200,−9.0,12,\n", "utf-8"),
        # Milliseconds since 1970; ISO times in UTC; month first.
        ("ms,A\n1767222000000,9.0\n1767225600000,9.1\n1767229200000,9.0\n", "utf-8"),
        (
            "time,A\n2026-01-01T08:00:00Z,9.0\n2026-01-01T09:00:00Z,9.1\n2026-01-01T10:00:00Z,9",
            "utf-8",
        ),
        ("t,A\n12/31/2025 23:00,9.0\n01/01/2026 00:00,9.1\n01/01/2026 01:00,9\n", "utf-8"),
        # Overloads and dashes in a column that is not needed.
        ("time_s,A,temp\n0,9.0,OL\n3600,9.1,---\n7200,9.0,22\n", "utf-8"),
        # A heading of several lines, units on their own line.
        ("log of the day\nElapsed Time,Current\n(s),(A)\n0,9.0\n3600,9.1\n7200,9.0\n", "utf-8"),
        # Quoted cells.
        ('"time_s","current_a"\n"0","9.0"\n"3600","9.1"\n"7200","9.0"\n', "utf-8"),
    ],
)
def test_the_same_test_comes_in_however_it_is_written(text, encoding):
    imported = read(text, encoding)
    assert list(imported.readings.elapsed_s) == [0, 3600, 7200]
    assert [abs(a) for a in currents(imported)] == pytest.approx([9.0, 9.1, 9.0])
    assert imported.assumptions


def test_a_file_with_dates_tells_when_it_started():
    imported = read("time,A\n2026-03-31T08:30:00+02:00,9\n2026-03-31T09:30:00+02:00,9\n")
    assert imported.started_at.astimezone(UTC) == datetime(2026, 3, 31, 6, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("first", "second", "month"),
    [("13/04/2026", "13/04/2026", 4), ("04/13/2026", "04/13/2026", 4), ("03/04/2026",) * 2 + (4,)],
)
def test_day_and_month_are_told_apart_where_they_can_be(first, second, month):
    imported = read(f"time,A\n{first} 08:00,9\n{second} 09:00,9\n")
    assert imported.started_at.month == month


def test_fahrenheit_and_celsius_agree():
    celsius = read("time_s,A,temp (°C)\n0,9,20\n60,9,25\n")
    fahrenheit = read("time_s,A,temp (°F)\n0,9,68\n60,9,77\n")
    assert list(fahrenheit.readings.temperature_c) == pytest.approx(
        list(celsius.readings.temperature_c)
    )


def test_rows_without_a_current_are_left_out_and_said():
    imported = read("time_s,current_a\n0,9\n60,--\n120,9\n180,\n240,9\n")
    assert list(imported.readings.elapsed_s) == [0, 120, 240]
    assert any("2 rows" in said for said in imported.assumptions)


def test_the_owner_can_overrule_what_a_column_is():
    uses = [ColumnUse.ELAPSED_MIN, ColumnUse.CURRENT_MA, ColumnUse.IGNORE]
    imported = read("a,b,c\n0,9000,1\n60,9000,1\n", uses=uses)
    assert list(imported.readings.elapsed_s) == [0, 3600]
    assert currents(imported) == [9.0, 9.0]


def test_a_count_of_amp_hours_gives_its_growth_as_current():
    imported = read("h,Ah\n" + "\n".join(f"{h},{9 * h}" for h in range(6)))
    assert currents(imported) == pytest.approx([9.0] * 6)
