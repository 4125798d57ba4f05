"""The fast way through long logs reads what the careful way reads, or leaves it to that."""

from datetime import datetime, timedelta

import pytest

from app.domain.errors import InvalidInput
from app.ingest import fast_reader
from app.ingest.reader import open_file, read_opened

BEGIN = datetime(2026, 3, 1, 22, 0)
ROWS = range(6000)


def log(stamp, heading="time,A,V,°C", row="{t},9.{e},13.2,2{e}", rows=ROWS, end="\n"):
    lines = (row.format(t=stamp(i), e=i % 10) for i in rows)
    return (heading + end + end.join(lines) + end).encode()


def at(i, step_s=10):
    return BEGIN + timedelta(seconds=step_s * i)


def span(i):
    return f"{i // 3600 + 8}:{i // 60 % 60:02}:{i % 60:02}.25"


PLAIN = log(lambda i: i, heading="time_s,A,V,°C")
CHANNELS = "time_s;unit;A;V"
LOGS = {
    "seconds": PLAIN,
    "old line ends": log(lambda i: i, heading="time_s,A,V,°C", end="\r\n"),
    "dates": log(lambda i: at(i)),
    "dates with T, thousandths": log(lambda i: at(i).isoformat() + ".125"),
    "dates with Z": log(lambda i: at(i).isoformat() + "Z"),
    "dates with an offset": log(lambda i: f"{at(i)}+02:00"),
    "dates with slashes": log(lambda i: f"{at(i):%Y/%m/%d %H:%M:%S}"),
    "day first": log(lambda i: f"{at(i):%d/%m/%Y %H:%M:%S}"),
    "month first": log(lambda i: f"{at(i, 30):%m/%d/%Y %H:%M:%S}"),
    "one digit a day": log(lambda i: f"{at(i).day}/{at(i).month}/2026 {at(i).hour}:{at(i):%M:%S}"),
    "with dots": log(lambda i: f"{at(i):%d.%m.%Y %H:%M:%S}", "Zeit;A;V;°C", "{t};9,{e};13,2;2{e}"),
    "date in a column": log(lambda i: f"{at(i):%Y-%m-%d},{at(i):%H:%M:%S}", "date,time,A,V,°C"),
    "spans": log(span),
    "over midnight": log(lambda i: f"{at(i):%H:%M:%S}"),
    "minutes": log(lambda i: f"{at(i, 60):%H:%M}", rows=range(5999)),
    "quoted": log(lambda i: i, "time_s,A,V,°C", '"{t}","9.{e}","13.2","2{e}"'),
    "milliamps": log(lambda i: i, "time_s,mA,mV,°F", "{t},9{e}00,13200,7{e}"),
    "empty cells": PLAIN.replace(b",13.2,", b",,").replace(b"27\n", b"\n"),
    "two channels": log(
        lambda i: f"{i // 2};{'ab'[i % 2]}", CHANNELS, "{t};9.{e};13.2", range(12000)
    ),
    "channel that begins later": log(
        lambda i: f"{i};{'ab'[i > 5500]}", CHANNELS, "{t};9.{e};13.2", range(12000)
    ),
    "cut in a line": PLAIN[:-4],
    "cut in the current": PLAIN[:-10],
    "rows that appear twice": log(lambda i: i - (i > 4000) - (i > 5000), "time_s,A", "{t},9.0"),
    "clock set back": log(lambda i: at(i) - timedelta(hours=i >= 3000)),
    "one overload": PLAIN.replace(b"\n4000,9.0,", b"\n4000,OL,"),
    "overload in the first row": PLAIN.replace(b"\n0,9.0,", b"\n0,OL,"),
    "values that are none": log(lambda i: at(i)).replace(
        b"00:00,9.0,13.2,20", b"00:00,nan,null,---"
    ),
    "dashes beside the current": PLAIN.replace(b",13.2,23", b",---,n/a"),
    "a sensor that was lost": PLAIN.replace(b",9.0,", b",nan,")
    .replace(b",9.1,", b",nan,")
    .replace(b",9.2,", b",nan,")
    .replace(b",9.3,", b",nan,"),
    "infinite": PLAIN.replace(b"\n4000,9.0,", b"\n4000,inf,"),
    "milliamps with decimal commas": log(
        lambda i: i, "Zeit (s);mA;V", "{t};90{e}5,25;13,2", end="\r\n"
    ),
    "milliamps with commas that may be thousands": log(
        lambda i: i, "Zeit (s);mA;V", "{t};9,{e}25;13"
    ),
    "millivolts with thousands": log(lambda i: i, "Zeit (s);A;mV", "{t};9,{e};13,2{e}5"),
    "newest first": log(lambda i: at(6000 - i)),
    "newest first, seconds": log(lambda i: 6000 - i, heading="time_s,A,V,°C"),
    "twice a second": log(lambda i: at(i // 2, 1)),
    "twice a second, some rows the same": log(lambda i: at(i // 2, 1), row="{t},9.0,13.2,20"),
    "two batteries in one file": log(lambda i: f"{i // 2},{(9, 3)[i % 2]}", "time_s,A", "{t}"),
    "one wild date": log(lambda i: at(i) if i != 4000 else "1970-01-01 00:00:00"),
    "the first date is wild": log(lambda i: at(i) if i else "1970-01-01 00:00:00"),
    "one wild number": log(lambda i: i if i != 4000 else 4294967295, heading="time_s,A,V,°C"),
    "a row out of order": log(lambda i: at(i if i != 4000 else 3000)),
    "seconds out of order": log(lambda i: i if i != 4000 else 3000, heading="time_s,A,V,°C"),
    "the record begins anew": log(lambda i: i % 4000, heading="time_s,A,V,°C"),
    "times beyond every test": log(lambda i: 10_000 * i, heading="time_s,A,V,°C"),
    "slashes without zeros": log(
        lambda i: f"2026/{at(i).month}/{at(i).day} {at(i).hour}:{at(i):%M:%S}"
    ),
    "months in letters": log(lambda i: f"{at(i):%d-%b-%Y %H:%M:%S}"),
    "twelve hours": log(lambda i: f"{at(i):%m/%d/%Y %I:%M:%S %p}"),
    "dates in letters in a column": log(
        lambda i: f"{at(i):%d-%b-%Y},{at(i):%H:%M:%S}", "date,time,A,V,°C"
    ),
    "a footer": PLAIN + b"Total,15 Ah\n",
    "a blank line": PLAIN.replace(b"\n3000,", b"\n\n3000,"),
    "since 1970": log(lambda i: 1_790_000_000 + i, "time,A,V,°C"),
    "spreadsheet's days": log(lambda i: f"{46100.25 + i / 86400:.9f}", "time,A,V,°C"),
    "a word among numbers": PLAIN.replace(b"\n4000,9.0", b"\n4000,off"),
    "a time that is none": log(lambda i: f"{at(i)}").replace(b"03-02 02:00:00", b"03-02 99:00:00"),
    "a day that is none": log(lambda i: f"{at(i)}").replace(b"2026-03-02", b"2026-02-30"),
    "minute 75": log(span).replace(b"9:10:", b"9:75:"),
    "another form further down": log(lambda i: at(i) if i < 4000 else span(i)),
    "a row too long": PLAIN.replace(b"\n4000,", b"\n4000,1,"),
    "beyond the range": PLAIN.replace(b"\n4000,9.0", b"\n4000,900000"),
}
# These are left to the careful way, for what it says or because they are odd.
CAREFUL = {
    "a sensor that was lost",
    "infinite",
    "milliamps with commas that may be thousands",
    "millivolts with thousands",
    "two batteries in one file",
    "a row out of order",
    "seconds out of order",
    "the record begins anew",
    "times beyond every test",
    "cut in the current",
    "a footer",
    "a blank line",
    "a word among numbers",
    "a time that is none",
    "a day that is none",
    "minute 75",
    "another form further down",
    "a row too long",
    "beyond the range",
    "clock set back",
}


def both_ways(data, monkeypatch, channel=None):
    """What each way makes of the same file: readings and all that is said, or the refusal."""
    made = []
    for fewest in (1, 10**9):
        monkeypatch.setattr(fast_reader, "MIN_ROWS", fewest)
        try:
            made.append(read_opened(open_file(data), channel=channel))
        except InvalidInput as refused:
            made.append(str(refused))
    return made


@pytest.mark.parametrize("name", LOGS)
def test_both_ways_read_the_same(name, monkeypatch):
    channel = "b" if b"unit" in LOGS[name] else None
    fast, careful = both_ways(LOGS[name], monkeypatch, channel)
    assert repr(fast) == repr(careful)


@pytest.mark.parametrize("name", [name for name in LOGS if name not in CAREFUL])
def test_the_fast_way_is_taken(name):
    opened = open_file(LOGS[name])
    assert fast_reader.read_bulk(opened.table, opened.uses) is not None


@pytest.mark.parametrize(
    ("name", "night"),
    [("Europe/Berlin", datetime(2026, 3, 29)), ("Australia/Sydney", datetime(2026, 10, 4))],
)
@pytest.mark.parametrize("step_s", [10, 3600])
def test_a_clock_that_was_set_forward_adds_no_hour(zone, monkeypatch, name, night, step_s):
    zone(name)
    before = night - timedelta(hours=4)
    moments = [before.astimezone() + timedelta(seconds=step_s * i) for i in range(6000)]
    rows = moments[: int(10 * 3600 / step_s)]
    text = "time,A,V\n" + "".join(f"{m.astimezone():%Y-%m-%d %H:%M:%S},9,13\n" for m in rows)
    fast, careful = both_ways(text.encode(), monkeypatch)
    assert list(fast.readings.elapsed_s) == [step_s * i for i in range(len(rows))]
    assert fast.readings.elapsed_s == careful.readings.elapsed_s
    for imported in (fast, careful):
        assert any("set forward" in said for said in imported.assumptions)


def test_a_logger_that_keeps_winter_time_is_left_as_it_is(zone, monkeypatch):
    zone("Europe/Berlin")
    begin = datetime(2026, 3, 28, 20)
    rows = (f"{begin + timedelta(minutes=i)},9,13" for i in range(600))
    for imported in both_ways("\n".join(("time,A,V", *rows)).encode(), monkeypatch):
        assert imported.readings.elapsed_s[-1] == 599 * 60
        assert not any("set forward" in said for said in imported.assumptions)


@pytest.mark.parametrize(
    ("last", "use"),
    [(10, "time in hours"), (240, "time in minutes"), (36_000, "time in seconds")],
)
def test_a_time_without_a_unit_is_what_makes_a_test_of_it(last, use):
    text = "time,A,V\n" + "".join(f"{last * i / 300:g},9,13\n" for i in range(301))
    imported = read_opened(open_file(text.encode()))
    assert any(use in said for said in imported.assumptions)


@pytest.mark.parametrize("last", [0.4, 50, 600, 3000, 900_000])
def test_a_time_without_a_unit_that_could_be_several_is_asked_for(last):
    text = "time,A,V\n" + "".join(f"{last * i / 300:g},9,13\n" for i in range(301))
    with pytest.raises(InvalidInput, match=r"unit of “time””: “0 to .* time in minutes"):
        read_opened(open_file(text.encode()))


def test_a_spreadsheet_s_days_have_a_date():
    imported = read_opened(open_file(b"date,A\n46100.25,9\n46100.5,9\n46100.75,9\n"))
    assert imported.started_at == datetime(2026, 3, 19, 6)
    assert list(imported.readings.elapsed_s) == [0, 21600, 43200]


def test_a_comma_before_three_digits_is_no_decimal_mark_of_millivolts():
    imported = read_opened(open_file(b"time (h);A;mV\n0;9;13,250\n1;9;12,850\n"))
    assert list(imported.readings.voltage_v) == [13.25, 12.85]
    with pytest.raises(InvalidInput, match=r"10500 or 10.500: the comma could mean either"):
        read_opened(open_file(b"time (h);mA\n0;10,500\n1;10,400\n"))
