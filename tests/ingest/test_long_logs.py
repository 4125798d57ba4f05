"""A long log takes a faster way to the same readings."""

from datetime import datetime, timedelta

import pytest

from app.domain.errors import InvalidInput
from app.ingest import fast_reader
from tests.ingest.logs import read

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
    monkeypatch.setattr(fast_reader, "MIN_ROWS", 10**9)
    careful = read(plain)
    for name in ("elapsed_s", "current_a", "voltage_v", "temperature_c"):
        assert getattr(fast.readings, name) == getattr(careful.readings, name)
    assert fast.assumptions == careful.assumptions


@pytest.mark.parametrize(
    ("spoilt", "words"),
    [
        ("4000,abc,13,20", "line 4002, current”: “abc”"),
        ("4000,9,99999,20", "line 4002, voltage”: “99999”"),
        ("4000,9,13", ""),
        ("4000,9,13,20,7", "line 4002”: “5 cells”"),
    ],
)
def test_one_bad_row_in_a_long_log_is_named(spoilt, words):
    lines = [f"{i},9,13,20" for i in range(6000)]
    lines[4000] = spoilt
    text = "time_s,current_a,voltage_v,temp_c\n" + "\n".join(lines)
    if words:
        with pytest.raises(InvalidInput) as refusal:
            read(text)
        assert words in str(refusal.value)
    else:
        assert len(read(text).readings) == 6000


@pytest.mark.parametrize(
    ("spoilt", "count", "words"),
    [
        ("3999,8,13,20", 6000, "shares its time with the row before (line 4002)"),
        ("4000,nan,13,20", 5999, "left out (line 4002)"),
    ],
)
def test_one_odd_row_in_a_long_log_is_named_and_stops_nothing(spoilt, count, words):
    lines = [f"{i},9,13,20" for i in range(6000)]
    lines[4000] = spoilt
    imported = read("time_s,current_a,voltage_v,temp_c\n" + "\n".join(lines))
    assert len(imported.readings) == count
    assert any(words in said for said in imported.assumptions)


def test_a_long_log_with_dates_takes_the_fast_way_to_the_same_readings():
    begin = datetime(2026, 3, 1, 23, 0)
    lines = [f"{begin + timedelta(seconds=i)},9.{i % 5},13" for i in range(6000)]
    plain = "time,current_a,voltage_v\n" + "\n".join(lines)
    fast, careful = read(plain), read(plain + "\nthe end")
    assert fast.started_at == careful.started_at == begin
    assert fast.readings.elapsed_s == careful.readings.elapsed_s
    assert fast.readings.current_a == careful.readings.current_a
    lines[4000] = "2026-03-01 99:00:00,9,13"
    with pytest.raises(InvalidInput, match="line 4002, time"):
        read("time,current_a,voltage_v\n" + "\n".join(lines))
