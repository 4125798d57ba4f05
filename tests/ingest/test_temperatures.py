import math
from datetime import datetime, timedelta

import numpy as np
import pytest

from app.domain.errors import InvalidInput
from app.domain.temperature_file import LogAnswers, TemperatureColumns, TemperatureUnit
from app.ingest.temperatures.hourly_means import examine
from app.ingest.temperatures.temperature_reader import (
    column_question,
    open_temperatures,
    read_temperatures,
)
from tests.ingest.workbooks import fill, xlsx

BEGIN = datetime(2024, 5, 1, 6, 30)
CELSIUS = TemperatureColumns(unit=TemperatureUnit.CELSIUS)


def log(values, step_min=30, heading="time,Temperature °C", form="%Y-%m-%d %H:%M:%S"):
    lines = [heading]
    for i, value in enumerate(values):
        lines.append(f"{BEGIN + timedelta(minutes=step_min * i):{form}},{value}")
    return "\n".join(lines).encode()


def read(data, columns=TemperatureColumns(), answers=LogAnswers()):
    opened = open_temperatures(data)
    assert column_question(opened, columns) == ()
    return examine(read_temperatures(opened, columns), answers)


@pytest.mark.parametrize("count", [400, 12_000], ids=["careful way", "fast way"])
def test_the_mean_of_each_hour(count):
    found = read(log([20 + (i % 2) for i in range(count)]))
    assert found.problems == ()
    hourly = found.hourly
    assert hourly.first_day == BEGIN.date()
    assert math.isnan(hourly.celsius[5])
    # 06:30 alone, then 07:00 and 07:30.
    assert hourly.celsius[6] == 20
    assert set(hourly.celsius[7 : count // 2]) == {20.5}
    assert len(hourly.celsius) % 24 == 0


def test_both_ways_of_reading_give_the_same():
    rng = np.random.default_rng(4)
    values = [f"{v:.2f}" for v in rng.normal(22, 9, 6000)]
    fast = read(log(values)).hourly
    # A space in one cell sends the file the careful way.
    slow = read(log([*values[:-1], values[-1] + " °C"])).hourly
    assert fast.celsius.tolist() == pytest.approx(slow.celsius.tolist(), nan_ok=True)


def test_fahrenheit_in_the_heading_is_turned_into_celsius():
    found = read(log([95.0] * 8, heading="Date/Time,Temp (°F)"))
    assert found.hourly.celsius[8] == pytest.approx(35.0)


def test_fahrenheit_behind_the_numbers_is_turned_once():
    fahrenheit = TemperatureColumns(unit=TemperatureUnit.FAHRENHEIT)
    found = read(log(["95 °F"] * 8, heading="time,temp"), fahrenheit)
    assert found.hourly.celsius[8] == pytest.approx(35.0)


def test_a_unit_that_nobody_told_is_asked():
    data = log([21.0, 22.0, 23.0], heading="time,temperature")
    found = read(data)
    assert found.hourly is None
    assert [p.field for p in found.problems] == ["unit"]
    assert read(data, CELSIUS).hourly is not None


def test_95_degrees_celsius_are_doubted_and_never_changed():
    data = log([60.5, 75.0, 70.0])
    found = read(data)
    assert "75 °F is 24 °C" in found.problems[0].sentence
    assert found.hourly is None
    hot = read(data, answers=LogAnswers(hot_is_real=True))
    assert hot.hourly.celsius[7] == pytest.approx(72.5)
    cool = read(data, TemperatureColumns(unit=TemperatureUnit.FAHRENHEIT))
    assert cool.hourly.celsius[7] == pytest.approx((72.5 - 32) / 1.8)


@pytest.mark.parametrize("code", [85.0, -127.0, 95.0, -60])
def test_what_no_place_has_is_named_and_left_out_only_on_word(code):
    values = [20.0] * 20
    values[5] = values[7] = code
    found = read(log(values))
    (problem,) = found.problems
    assert problem.where == "temperature of 1 May 2024, 09:00 and 1 more"
    assert ("failed" in problem.allowed) == (code in (85.0, -127.0))
    left = read(log(values), answers=LogAnswers(leave_out_impossible=True))
    assert left.problems == ()
    assert set(left.hourly.celsius[6:16]) == {20.0}


def test_a_sensor_that_is_stuck_is_named_and_kept_unless_told():
    values = [20 + i % 3 for i in range(100)] + [23.4] * 200 + [20 + i % 3 for i in range(100)]
    found = read(log(values))
    assert len(found.stuck) == 1
    assert "always 23.4 °C" in found.stuck[0]
    assert found.hourly.known_h == 201
    left = read(log(values), answers=LogAnswers(leave_out_stuck=True))
    assert left.hourly.known_h < 110
    assert left.gaps


def test_a_gap_of_months_is_named_and_stays_a_gap():
    first = log([20.0 + i % 2 for i in range(48)]).decode()
    lines = [
        f"{BEGIN + timedelta(days=90, minutes=30 * i):%Y-%m-%d %H:%M:%S},{25 + i % 2}"
        for i in range(48)
    ]
    found = read((first + "\n" + "\n".join(lines)).encode())
    assert len(found.gaps) == 1
    assert "89 days" in found.gaps[0]
    assert found.hourly.known_h in (49, 50)
    assert found.hourly.days == 92


def test_readings_every_six_hours_are_joined_by_lines():
    found = read(log([10.0, 22.0, 10.0], step_min=360))
    assert found.gaps == ()
    # 06:30 to 12:30: the hour from 9 to 10 has its middle at 09:30, half way.
    assert found.hourly.celsius[9] == pytest.approx(16.0)


def test_two_values_two_hours_apart_are_called_that_and_not_means():
    said = " ".join(map(str, read(log([20, 24], step_min=120)).said))
    assert "2 hours have values." in said
    assert "1 hour without a value is estimated from the values before and after it." in said


def test_a_temperature_every_week_tells_no_hours():
    with pytest.raises(InvalidInput, match="at least once a day"):
        read(log([10.0, 22.0, 10.0], step_min=7 * 1440))


def test_the_clock_set_back_in_autumn_is_said_and_averaged():
    stamps = ["01:00", "02:00", "02:00", "03:00"]
    rows = [f"2024-10-27 {s},{v}" for s, v in zip(stamps, (10, 20, 30, 40), strict=True)]
    found = read(("time,°C\n" + "\n".join(rows)).encode())
    assert found.hourly.celsius[2] == 25.0
    rows[2] = "2024-10-27 01:30,30"
    back = read(("time,°C\n" + "\n".join(rows)).encode())
    assert any("goes back once" in one for one in back.said)


def test_which_of_two_columns_is_asked():
    rows = "".join(f"2024-05-01 {h:02d}:00,2{h},1{h}\n" for h in range(10))
    opened = open_temperatures(f"time,inside °C,outside temperature °C\n{rows}".encode())
    (problem,) = column_question(opened, TemperatureColumns())
    assert "inside °C, outside temperature °C" in problem.sentence
    chosen = read_temperatures(opened, TemperatureColumns(column=2))
    assert chosen.celsius[0] == 10


def test_epoch_seconds_are_dates():
    rows = "\n".join(f"{1714545000 + 600 * i},20.5" for i in range(20))
    found = read(f"epoch_s,temperature_c\n{rows}".encode())
    assert found.hourly.known_h in (4, 5)
    assert any("zone" in one for one in found.said)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"a,b\nc,d\n", "lines with a date, a time and a temperature"),
        (b"hours,temp c\n0,20\n1,21\n2,22\n", "line 2, time"),
        (b"time,temp c\n10:00,20\n11:00,21\n", "dates with the times"),
        (b"time,temp c\n2024-05-01 10:00,20\n2024-05-01 11:00,hot\n2024-05-01 12:00,3\n", "line 3"),
    ],
)
def test_a_file_that_says_no_temperatures_is_refused(data, words):
    with pytest.raises(InvalidInput, match=words):
        read(data)


def test_a_workbook_of_temperatures_is_read_and_asks_which_sheet():
    begin = datetime(2026, 3, 1)
    rows = [(begin + timedelta(hours=h), 10 + h % 12 / 2) for h in range(72)]
    table = (("Time", "Inside (°C)"), *rows)
    one = open_temperatures(xlsx(*table))
    assert one.problems == ()
    log = read_temperatures(one, TemperatureColumns())
    assert (log.begin, len(log.celsius), log.celsius[3]) == (begin, 72, 11.5)
    two = xlsx(*table, more=lambda book: fill(book.create_sheet("Roof"), table[:30]))
    (problem,) = open_temperatures(two).problems
    assert "one of the 2 in the file: Log, Roof" in problem.sentence
    roof = open_temperatures(two, sheet="Roof")
    assert roof.problems == ()
    assert len(read_temperatures(roof, TemperatureColumns()).celsius) == 29


def test_times_under_the_heading_of_a_temperature_are_no_temperatures():
    rows = "".join(f"21.{hour} C,2026-01-01 0{hour}:00\n" for hour in range(3))
    opened = open_temperatures(f"Temperature (°C),Temperature (°F)\n{rows}".encode())
    assert opened.could_be == (0,)
    logged = read_temperatures(opened, TemperatureColumns(column=1))
    assert logged.celsius.tolist() == [21.0, 21.1, 21.2]


def test_carriage_returns_inside_a_line_make_no_fault():
    data = b'"a\0\0\0\0M name","x"\n1,2\n3\1\0\0\0\0\0\0<ame"currentx\n\n'
    data += b't madtte lva xA\n\n ` em0\r\r\r\r\r"ee"'
    with pytest.raises(InvalidInput):
        open_temperatures(data)


def test_a_temperature_of_three_hundred_digits_does_not_flood_the_page():
    values = [20.0, 1e308, *[21.0] * 30]
    (problem,) = read(log(values)).problems
    assert len(problem.value) <= 60
    assert len(problem.sentence) < 400
