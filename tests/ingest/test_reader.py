import contextlib
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.column import ColumnUse
from app.domain.errors import Refused
from app.ingest import bulk
from app.ingest.reader import open_file, read_file, read_opened
from app.ingest.text import UPLOAD_LIMIT_MB
from app.ingest.typed import read_typed

PLAIN = "time_s,current_a,voltage_v\n0,9.0,13.2\n3600,9.1,13.0\n7200,9.0,12.0\n"


def read(text, encoding="utf-8", uses=None):
    return read_file(text.encode(encoding), uses)


def currents(imported):
    return list(imported.readings.current_a)


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        (PLAIN, "utf-8"),
        (PLAIN, "utf-8-sig"),
        (PLAIN, "utf-16"),
        (PLAIN, "utf-16-le"),
        (PLAIN, "utf-16-be"),
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


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty file"),
        (b"  \n \n", "empty file"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20, "not text"),
        (b"hello\nworld\n", "lines with a time and a current"),
        (b"time_s,current_a\n0,9\n", "two rows"),
        (b"time_s,voltage_v\n0,13\n60,13\n", "one column with the current"),
        (b"time_s,current_a\n0,9\n60,abc\n120,9\n", "line 3, current: got “abc”"),
        (b"time_s,current_a\n0,9\n60,NaN\n120,9\n", "line 3, current: got “NaN”"),
        (b"time_s,current_a\n0,9\n60,inf\n120,9\n", "line 3, current: got “inf”"),
        (b"time_s,current_a\n0,9\n60,9e9\n120,9\n", "from −100000 to 100000 A"),
        (b"time_s,current_a\n0,9\n60,9\n30,9\n", "line 4, time: got “30”"),
        (b"time_s,current_a\n0,9\n60,9\n60,8\n", "line 4, time: got “60”"),
        (b"time,current_a,soc\n0:00,9,100\n1:00,9,140\n", "line 3, gauge: got “140”"),
        (b"time,current_a\n10:00,9\n10:75,9\n", "line 3, time"),
        (b"time,current,voltage\n0,10,5,13,1\n1,10,5,13,0\n", "5 cells"),
        (b"," * 300 + b"\n" + b"1,2," * 150 + b"\n", "at most 200"),
    ],
)
def test_a_refusal_names_the_row_the_value_and_the_range(data, words):
    with pytest.raises(Refused) as refusal:
        read_file(data)
    assert words in str(refusal.value)


def test_a_file_above_the_limit_is_refused_by_its_size():
    with pytest.raises(Refused, match=f"at most {UPLOAD_LIMIT_MB} MB"):
        read_file(b"0" * (UPLOAD_LIMIT_MB * 1_000_000 + 1))


def test_typed_rows_take_a_decimal_comma_and_skip_empty_rows():
    rows = [["8:30", "9,0", "13,2", "", "100"], ["", "", "", "", ""], ["9:30", "9.1 A", "", "", ""]]
    imported = read_typed(rows)
    assert list(imported.readings.elapsed_s) == [0, 3600]
    assert currents(imported) == [9.0, 9.1]


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([], "at least two rows"),
        ([["8:30", "9", "", "", ""]], "two rows"),
        ([["8:30", "9", "", "", ""], ["9:30", "", "13", "", ""]], "row 2, current"),
        ([["8:30", "9", "", "", ""], ["", "9", "13", "", ""]], "row 2, time"),
        ([["8:30", "9", "", "", ""], ["9:30", "nine", "", "", ""]], "row 2, current: got “nine”"),
        ([["8:30", "9", "", "", ""], ["9:30", "9", "", "500", ""]], "row 2, temperature"),
        ([["8:30", "9", "", "", ""], ["8:30", "9", "", "", ""]], "row 2, time: got “8:30”"),
        ([["9:30", "9", "", "", ""], ["8:30", "9", "", "", ""]], "row 2, time: got “8:30”"),
    ],
)
def test_a_typed_row_is_refused_by_its_number(rows, words):
    with pytest.raises(Refused) as refusal:
        read_typed(rows)
    assert words in str(refusal.value)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.binary(max_size=400))
def test_random_bytes_are_read_or_refused_and_never_raise_anything_else(data):
    with contextlib.suppress(Refused):
        read_file(data)


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.integers(0, len(PLAIN) - 1), st.characters(), st.integers(0, 3))
def test_a_good_file_with_a_slip_is_read_or_refused(place, character, length):
    spoilt = PLAIN[:place] + character + PLAIN[place + length :]
    with contextlib.suppress(Refused):
        read_file(spoilt.encode("utf-8", "surrogatepass"))


LONG = [(i, 9 + (i % 5) / 100, 13.2 - i / 10_000, 20 + i % 3) for i in range(6000)]


@pytest.mark.parametrize(
    ("delimiter", "mark"), [(",", "."), (";", ","), ("\t", "."), (";", "."), ("|", ".")]
)
def test_the_fast_way_through_a_long_log_gives_what_the_careful_way_gives(
    delimiter, mark, monkeypatch
):
    def line(row):
        return delimiter.join(f"{value:.4f}".replace(".", mark) for value in row)

    head = delimiter.join(("time_s", "current_a", "voltage_v", "temp_c"))
    plain = "\n".join([head, *map(line, LONG)])
    fast = read(plain)
    monkeypatch.setattr(bulk, "FEWEST_ROWS", 10**9)
    careful = read(plain)
    for name in ("elapsed_s", "current_a", "voltage_v", "temperature_c"):
        assert getattr(fast.readings, name) == getattr(careful.readings, name)
    assert fast.assumptions == careful.assumptions


@pytest.mark.parametrize(
    ("spoilt", "words"),
    [
        ("4000,abc,13,20", "line 4002, current: got “abc”"),
        ("4000,9,99999,20", "line 4002, voltage: got “99999”"),
        ("3999,8,13,20", "line 4002, time: got “3999”"),
        ("4000,9,13", ""),
        ("4000,9,13,20,7", "line 4002: got “5 cells”"),
        ("4000,nan,13,20", "line 4002, current: got “nan”"),
    ],
)
def test_one_bad_row_in_a_long_log_is_named(spoilt, words):
    lines = [f"{i},9,13,20" for i in range(6000)]
    lines[4000] = spoilt
    text = "time_s,current_a,voltage_v,temp_c\n" + "\n".join(lines)
    if words:
        with pytest.raises(Refused) as refusal:
            read(text)
        assert words in str(refusal.value)
    else:
        assert len(read(text).readings) == 6000


def cycle(sign=1, volts=True, offset_h=0):
    """Rest, charge, rest, discharge for five hours, rest, charge: one row every ten minutes."""
    rows = []
    for i in range(90):
        hour = i / 6
        if 1 <= hour < 4:
            amps, u = -20.0, 13.0 + hour / 5
        elif 5 <= hour <= 10:
            amps, u = 9.0, 13.3 - (hour - 5) / 5
        elif 12 <= hour < 14:
            amps, u = -15.0, 12.5 + (hour - 12) / 2
        else:
            amps, u = 0.0, 13.2
        clock = f"{int(hour + offset_h) % 24:02d}:{i % 6 * 10:02d}"
        cells = [clock, f"{sign * amps}"] + ([f"{u:.2f}"] if volts else [])
        rows.append(",".join(cells))
    return "time,current_a" + (",voltage_v" if volts else "") + "\n" + "\n".join(rows)


@pytest.mark.parametrize("sign", [1, -1])
def test_the_discharge_is_picked_from_a_whole_cycle(sign):
    imported = read(cycle(sign))
    assert len(imported.readings) == 33
    assert {abs(a) for a in currents(imported)} == {0.0, 9.0}
    assert imported.first_clock_s == (5 * 60 - 10) * 60
    assert any("were picked: the discharge" in said for said in imported.assumptions)


def test_the_start_moves_with_the_discharge_that_was_picked():
    text = cycle().replace("\n", "\n2026-03-01 ").replace("2026-03-01 time", "time")
    assert read(text).started_at == datetime(2026, 3, 1, 4, 50)


def test_a_record_in_one_direction_is_left_as_it_is():
    assert not any("picked" in said for said in read(PLAIN).assumptions)


def test_charging_in_the_middle_of_a_discharge_is_not_picked_away():
    rows = ["9"] * 20 + ["-9"] * 5 + ["9"] * 20
    text = "time_s,A\n" + "\n".join(f"{60 * i},{a}" for i, a in enumerate(rows))
    imported = read(text)
    assert len(imported.readings) == 45


def test_a_count_of_amp_hours_gives_its_growth_as_current():
    imported = read("h,Ah\n" + "\n".join(f"{h},{9 * h}" for h in range(6)))
    assert currents(imported) == pytest.approx([9.0] * 6)


def test_which_of_several_batteries_is_meant_is_asked():
    data = b"time (h),battery,A\n0,one,9.0\n0,two,5\n1,one,9.1\n1,two,5\n2,one,9.0\n2,two,5\n"
    with pytest.raises(Refused, match="one of the 2 in the file: one, two"):
        read_file(data)
    assert list(read_file(data, channel="two").readings.current_a) == [5, 5, 5]


def test_another_channel_can_be_chosen():
    opened = open_file(b"time (h),channel,A\n0,1,9\n0,2,5\n1,1,9\n1,2,5\n2,1,9\n2,2,5\n")
    imported = read_opened(opened, channel="2")
    assert imported.channels == ("1", "2")
    assert currents(imported) == [5, 5, 5]
    assert "Channel “2” of 2 was read." in imported.assumptions


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"PK\x03\x04" + bytes(range(256)) * 40, "not text"),
        (b"GIF89a" + bytes(200), "not text"),
        (b"%PDF-1.7\n" + bytes(range(128, 256)) * 40 + b"\0\0", "not text"),
        (b"just one column\n1\n2\n3\n", "lines with a time and a current"),
        (b"=1+1,=2+2\n=cmd(),5\n", "lines with a time and a current"),
        (b"a" * 500_000, "lines with a time and a current"),
        (b"1," * 400_000, "at most 200"),
        (b"\n" * 1_100_000 + b"0,9\n1,9\n", "at most 1000100"),
        (b"time_s,W\n0,100\n60,100\n", "power and voltage"),
        (b"time_s,W,V\n0,100,13\n60,100,0\n", "voltage in reading 2"),
        (b"time,current\n0:00,9\n1:00,9\n0:30,9\n", "line 4, time"),
        (b"time_s,current_a\n0,9\n60,9\n999999999,9\n", "from 0 to 8.64e+06 s"),
    ],
)
def test_what_is_no_log_is_a_sentence(data, words):
    with pytest.raises(Refused) as refusal:
        read_file(data)
    assert words in str(refusal.value)


def test_a_file_cut_in_the_middle_of_a_line_is_read_up_to_there_or_refused_by_its_line():
    for end in range(40, len(PLAIN)):
        with contextlib.suppress(Refused):
            assert len(read(PLAIN[:end]).readings) >= 2


def test_a_long_log_with_dates_takes_the_fast_way_to_the_same_readings():
    begin = datetime(2026, 3, 1, 23, 0)
    lines = [f"{begin + timedelta(seconds=i)},9.{i % 5},13" for i in range(6000)]
    plain = "time,current_a,voltage_v\n" + "\n".join(lines)
    fast, careful = read(plain), read(plain + "\nthe end")
    assert fast.started_at == careful.started_at == begin
    assert fast.readings.elapsed_s == careful.readings.elapsed_s
    assert fast.readings.current_a == careful.readings.current_a
    lines[4000] = "2026-03-01 99:00:00,9,13"
    with pytest.raises(Refused, match="line 4002, time"):
        read("time,current_a,voltage_v\n" + "\n".join(lines))
