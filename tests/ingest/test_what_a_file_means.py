"""What a file does not say is asked, with what each answer gives, or told by its values."""

import random

import numpy as np
import pytest

from app.domain.errors import InvalidInput
from app.domain.units.column import ColumnUse
from app.ingest import fast_reader
from app.ingest.headings import use_of_heading
from app.ingest.reader import open_file, read_file, read_opened


def hourly(heading, row, hours=11, sep=","):
    rows = (row.format(h=h, v=13.2 - h / 10, a=9.0, c=9.0 * h) for h in range(hours))
    return "\n".join([*([heading] if heading else []), *rows]).replace(",", sep).encode()


def amps(data):
    return list(read_file(data).readings.current_a[:2])


def asked(data):
    with pytest.raises(InvalidInput) as refusal:
        read_file(data)
    return str(refusal.value)


@pytest.mark.parametrize(
    ("heading", "value", "ampere"),
    [
        ("Current (µA)", 9e6, 9),
        ("Current (uA)", 9e6, 9),
        ("current_ua", 9e6, 9),
        ("Current (kA)", 0.009, 9),
        ("I [mA]", 9000, 9),
        ("Load (A)", 9, 9),
        ("Batt A avg (A)", 9, 9),
        ("Amps", 9000, 9000),
    ],
)
def test_a_unit_with_a_known_prefix_is_read(heading, value, ampere):
    data = hourly(f"time (h),{heading},V", f"{{h}},{value},{{v:.2f}}")
    assert amps(data) == pytest.approx([ampere] * 2)


@pytest.mark.parametrize(
    ("heading", "value"),
    [("Power (W)", 118.8), ("Power (mW)", 118_800), ("P [kW]", 0.1188), ("power_mw", 118_800)],
)
def test_power_in_each_unit(heading, value):
    data = hourly(f"time (h),V,{heading}", f"{{h}},13.2,{value}")
    assert amps(data) == pytest.approx([9, 9])


def test_kilovolts_and_watt_hours():
    data = hourly("time (h),A,Voltage (kV)", "{h},9,0.0132")
    assert read_file(data).readings.voltage_v[0] == pytest.approx(13.2)
    # 120 Wh an hour at 12 V: 10 A.
    rows = "".join(f"{h},12,{120 * h}\n" for h in range(6))
    assert amps(f"time (h),V,Energy (Wh)\n{rows}".encode()) == pytest.approx([10, 10])


@pytest.mark.parametrize(
    ("heading", "use"),
    [
        ("Capacity (Wh)", "energy_wh"),
        ("Capacity (%)", "gauge_percent"),
        ("Charge (Ah)", "count_ah"),
        ("Charge (A·h)", "count_ah"),
        ("consumed mAh", "count_mah"),
        ("Verbraucht (Ah)", "count_ah"),
        ("Charge current (A)", "ignore"),
        ("Charge (A)", "ignore"),
        ("Energy (kWh)", "ignore"),
        ("state of charge", "gauge_percent"),
        ("Amp Hours", "count_ah"),
        ("amp-hours drawn", "count_ah"),
        ("Watt hours", "energy_wh"),
        ("A min", "current_a"),
        ("mA avg", "current_ma"),
        ("V max", "voltage_v"),
        ("min", "elapsed_min"),
    ],
)
def test_the_unit_tells_what_a_capacity_or_a_charge_is(heading, use):
    assert use_of_heading(heading) == use


@pytest.mark.parametrize("value", [9000, 90, 150.5])
def test_a_current_without_a_unit_that_may_be_two_is_asked(value):
    said = asked(hourly("time (h),current,V", f"{{h}},{value},{{v:.2f}}"))
    # Ten hours.
    assert f"current in mA (then {value / 100:.4g} Ah)" in said
    assert f"current in A (then {value * 10:g} Ah)" in said


@pytest.mark.parametrize("value", ["9", "-9", "49.5"])
def test_a_current_without_a_unit_that_fits_amps_alone_is_amps(value):
    data = hourly("time (h),current,V", f"{{h}},{value},{{v:.2f}}")
    assert amps(data) == [float(value)] * 2
    assert "“current” is current in A." in read_file(data).assumptions


def test_a_unit_behind_each_number_needs_no_question():
    assert amps(hourly("time (h),current,V", "{h},9000 mA,{v:.2f}")) == [9, 9]


def test_rest_at_the_begin_of_a_long_log_hides_no_milliamps():
    rows = "".join(f"{i},{0 if i < 3000 else 9000},13\n" for i in range(20_000))
    assert "current in mA" in asked(f"time (s),current,V\n{rows}".encode())


@pytest.mark.parametrize("heading", ["current (nA)", "current (cA)", "Current MA2 (dA)"])
def test_an_unknown_prefix_is_asked(heading):
    said = asked(hourly(f"time (h),{heading},V", "{h},9,{v:.2f}"))
    for unit in ("A (then 90 Ah)", "mA (then 0.09 Ah)", "µA", "kA"):
        assert f"current in {unit}" in said


def test_volts_in_thousands_are_millivolts():
    data = hourly("time (h),A,voltage", "{h},9,13200")
    assert read_file(data).readings.voltage_v[0] == pytest.approx(13.2)


@pytest.mark.parametrize(
    ("value", "celsius"), [(25, 25), (77, 25), (50, None)], ids=["°C", "°F", "either"]
)
def test_a_temperature_without_a_unit(value, celsius):
    imported = read_file(hourly("time (h),A,temp", f"{{h}},9,{value}"))
    first = imported.readings.temperature_c[0]
    assert np.isnan(first) if celsius is None else first == pytest.approx(celsius)
    assert any("“temp” may be" in said for said in imported.assumptions) is (celsius is None)


@pytest.mark.parametrize(
    ("step", "rows", "last_s"), [(1, 1500, 1499), (0.1, 9000, 899.9), (0.5, 1000, 499.5)]
)
def test_a_step_of_a_second_or_less_is_not_minutes(step, rows, last_s):
    text = "time,A\n" + "".join(f"{step * i:.6g},9\n" for i in range(rows))
    assert read_file(text.encode()).readings.elapsed_s[-1] == pytest.approx(last_s)


def test_moments_that_a_machine_wrote_unevenly_are_seconds():
    """A real logger's steps of 18.7 s, to the millisecond, for 25 minutes."""
    chance = random.Random(5)
    moments = np.cumsum([chance.uniform(17, 20.5) for _ in range(80)])
    text = "time,A\n" + "".join(f"{moment:.3f},2\n" for moment in moments)
    assert read_file(text.encode()).readings.elapsed_s[-1] == pytest.approx(
        moments[-1] - moments[0], abs=0.002
    )


@pytest.mark.parametrize(("step", "rows"), [(10, 151), (2, 300), (1, 51), (1, 200)])
def test_a_step_that_fits_two_units_is_asked_or_told_by_the_span(step, rows):
    text = "time,A\n" + "".join(f"{step * i},9\n" for i in range(rows))
    if (step, rows) == (1, 200):
        # A second each: as minutes it would be as long as a test, but a step of 1 is not minutes.
        assert read_file(text.encode()).readings.elapsed_s[-1] == 199
    else:
        assert "unit of “time”" in asked(text.encode())


def test_a_few_rows_that_a_hand_wrote_every_hour_are_minutes():
    assert read_file(hourly("time,A", "{h}0,9").replace(b"\n00", b"\n0")).readings.elapsed_s[
        -1
    ] == pytest.approx(6000)


CURRENTS = {"Load current (A)": 13.5, "Max current (A)": 15.0, "Min current (A)": 6.0}


@pytest.mark.parametrize("first", ["Battery current (A)", "Average current (A)", "Avg A"])
def test_what_the_battery_gave_goes_before_load_and_extremes(first):
    headings, values = [*CURRENTS, first], [*CURRENTS.values(), 9.0]
    data = hourly(f"time (h),{','.join(headings)}", f"{{h}},{','.join(map(str, values))}")
    assert amps(data) == [9, 9]
    assert sum("left out" in said for said in read_file(data).assumptions) == 3


def test_a_load_goes_before_its_extremes():
    data = hourly("time (h),Max current (A),Min current (A),Load current (A)", "{h},15,6,9")
    assert amps(data) == [9, 9]


def test_several_currents_that_differ_are_asked_and_can_be_answered():
    data = hourly("time (h),Current 1 (A),Current 2 (A)", "{h},3,9")
    said = asked(data)
    assert "“Current 1 (A)”, current in A (then 30 Ah)" in said
    assert "“Current 2 (A)”, current in A (then 90 Ah)" in said
    uses = (ColumnUse.ELAPSED_H, ColumnUse.IGNORE, ColumnUse.CURRENT_A)
    imported = read_opened(open_file(data), uses)
    assert list(imported.readings.current_a[:2]) == [9, 9]
    # What is said is about what was chosen.
    assert "“Current 1 (A)” could be the current as well; it was left out." in imported.assumptions
    assert not any("Current 2 (A)” could" in one for one in imported.assumptions)


def test_a_point_between_thousands_where_commas_are_decimal():
    data = hourly("time (h);mA;V", "{h};10.050;13_2").replace(b"_", b",")
    assert amps(data) == pytest.approx([10.05, 10.05])
    data = hourly("time (h);A;V", "{h};10.050;13_2").replace(b"_", b",")
    assert "10050 or 10.050" in asked(data)
    data = hourly("time (h);A;V", "{h};10.05;13_2").replace(b"_", b",")
    assert amps(data) == [10.05, 10.05]


def test_a_comma_between_thousands_where_points_are_decimal():
    assert amps(hourly("time (h);mA;V", "{h};10_050;13.2").replace(b"_", b",")) == pytest.approx(
        [10.05, 10.05]
    )


@pytest.mark.parametrize("fewest", [1, 10**9])
def test_both_ways_through_a_long_log_hold_the_mark(fewest, monkeypatch):
    monkeypatch.setattr(fast_reader, "MIN_ROWS", fewest)
    rows = "".join(f"{i};118.800;13,2\n" for i in range(200))
    assert amps(f"time (s);mW;V\n{rows}".encode()) == pytest.approx([9, 9])
    rows = "".join(f"{i};1.188;13,2\n" for i in range(200))
    assert amps(f"time (s);W;V\n{rows}".encode()) == pytest.approx([90, 90])


@pytest.mark.parametrize("order", ["{v:.2f},9", "9,{v:.2f}"])
def test_amps_and_volts_without_headings_are_told_apart(order):
    data = hourly("", "{h}:00," + order)
    readings = read_file(data).readings
    assert list(readings.current_a[:2]) == [9, 9]
    assert readings.voltage_v[0] == pytest.approx(13.2)


@pytest.mark.parametrize(
    "row", ["{h}:00,{v:.2f}", "{h}:00,12.5,12.9"], ids=["volts alone", "two that may be volts"]
)
def test_columns_without_headings_that_may_be_volts_are_asked(row):
    said = asked(hourly("", row))
    assert "column of the current" in said
    assert "column 2" in said


@pytest.mark.parametrize("row", ["{h}:00,0,0", "{h}:00,0,0,13.1"])
def test_columns_of_zeros_alone_are_read(row):
    """A logger at a battery that was off; there is no mean of its load."""
    assert set(read_file(hourly("", row)).readings.current_a) == {0}


def test_rows_of_one_moment_alone_are_of_one_battery():
    """A clock that stands still: there is nothing between its moments."""
    data = "time,A\n" + "".join(f"20:00,{9 + i / 100}\n" for i in range(40))
    assert len(read_file(data.encode()).readings) == 40


def test_a_counter_answers_for_a_current_without_a_unit():
    imported = read_file(hourly("time (h),current,Ah", "{h},9000,{c}"))
    assert list(imported.readings.current_a[:2]) == [9, 9]
    assert any("“current” may be" in said for said in imported.assumptions)


def test_a_counter_stays_beside_the_current():
    readings = read_file(hourly("time (h),A,consumed (Ah)", "{h},8.5,{c}")).readings
    assert list(readings.current_a[:2]) == [8.5, 8.5]
    assert list(readings.counted_ah[:3]) == [0, 9, 18]


@pytest.mark.parametrize("heading", ["consumed", "charge", "Charge (Ah)"])
def test_a_counter_by_its_name(heading):
    readings = read_file(hourly(f"time (h),{heading}", "{h},{c}")).readings
    assert list(readings.counted_ah[:3]) == [0, 9, 18]


def test_a_rated_capacity_in_every_row_counts_nothing():
    assert read_file(hourly("time (h),A,capacity (Ah)", "{h},9,100")).readings.counted_ah is None


def test_a_charge_that_falls_is_no_count():
    with pytest.raises(InvalidInput, match="one column with the current"):
        read_file(hourly("time (h),charge", "{h},{v:.1f}"))


def by_clock(*moments):
    """An hourly record; its voltage falls from row to row."""
    rows = (f"{one},10,{13.2 - i / 10:.1f}" for i, one in enumerate(moments))
    return "\n".join(("time,current A,voltage V", *rows)).encode()


NIGHT = [f"{day} {hour}" for day, hour in (("2026-10-25", "00:30"), ("2026-10-25", "01:30"))]


@pytest.mark.parametrize("separator", [" ", ","])
def test_an_hour_twice_at_night_is_a_copy_or_a_clock_that_was_set_back(separator):
    twice = ["2026-10-25 02:30"] * 2
    data = by_clock(*NIGHT, *twice, "2026-10-25 03:30", "2026-10-25 04:30")
    if separator == ",":
        data = data.replace(b"time,", b"date,time,").replace(b"25 0", b"25,0")
    said = asked(data)
    assert "line 5, time" in said
    assert "It may be a copy" in said
    assert "the clock was set back" in said


def test_an_hour_twice_on_another_day_is_read_as_ever():
    data = by_clock(*NIGHT, *["2026-10-25 02:30"] * 2, "2026-10-25 03:30", "2026-10-25 04:30")
    read = read_file(data.replace(b"-10-25", b"-10-26"))
    assert read.readings.elapsed_s[-1] == 4 * 3600


def test_whole_minutes_may_be_seconds_or_minutes():
    rows = "\n".join(f"{60 * i},10" for i in range(11))
    said = asked(f"t,A\n{rows}\n".encode())
    assert "time in seconds (then 1.667 Ah); time in minutes (then 100 Ah)" in said


def test_currents_that_are_all_negative_are_said():
    words = "All currents are negative: Fadeline counts them as the discharge."
    assert words in read_file(hourly("time_h,A", "{h},-{a}")).assumptions
    assert words not in read_file(hourly("time_h,A", "{h},{a}")).assumptions
