import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.domain import quantity
from app.domain.errors import InvalidInput
from app.domain.quantity import Quantity
from app.domain.units.unit import (
    UNITS,
    Dimension,
    as_clock_span,
    clock_span_s,
    parse_duration,
    split_unit,
    unit_named,
)

CURRENT = quantity.LOAD_CURRENT
VOLTAGE = quantity.NOMINAL_VOLTAGE
CHARGE = quantity.RATED_CAPACITY
HOURS = quantity.ENDED_AFTER
MINUTES = quantity.READING_EVERY
DAYS = quantity.TEST_INTERVAL
AIR = quantity.AMBIENT_TEMPERATURE
POWER = quantity.APPLIANCE_POWER
YEARS = quantity.WARRANTY_YEARS


@pytest.mark.parametrize(
    ("asked", "text", "value"),
    [
        (CURRENT, "8.5", 8.5),
        (CURRENT, "8,5 A", 8.5),
        (CURRENT, "8.5A", 8.5),
        (CURRENT, "8.5 amps", 8.5),
        (CURRENT, "850 mA", 0.85),
        (CURRENT, "850 MA", 0.85),
        (CURRENT, "0.02 kA", 20),
        (CURRENT, "1.234 A", 1.234),
        (CURRENT, "12,850", 12.85),
        (CURRENT, " 9\u00a0A ", 9),
        (CURRENT, "1e1 A", 10),
        (VOLTAGE, "12800 mV", 12.8),
        (VOLTAGE, "12,8 v", 12.8),
        (CHARGE, "105 Ah", 105),
        (CHARGE, "105 A h", 105),
        (CHARGE, "105000 mAh", 105),
        (POWER, "1.2 kW", 1200),
        (POWER, "1200 watts", 1200),
        (AIR, "95 °F", 35),
        (AIR, "95F", 35),
        (AIR, "−40 °F", -40),
        (AIR, "20 ºC", 20),
        (AIR, "20℃", 20),
        (HOURS, "11.5 h", 11.5),
        (HOURS, "1h30", 1.5),
        (HOURS, "1 h 30 min", 1.5),
        (HOURS, "1h 30m", 1.5),
        (HOURS, "1:30", 1.5),
        (HOURS, "1:30:36", 1.51),
        (HOURS, "1h30m36s", 1.51),
        (HOURS, "90 min", 1.5),
        (HOURS, "5400 s", 1.5),
        (HOURS, "2 days", 48),
        (MINUTES, "1h30", 90),
        (MINUTES, "1 h", 60),
        (DAYS, "13 weeks", 91),
        (DAYS, "91 days", 91),
        (YEARS, "18 months", 1.5),
        (YEARS, "5 years", 5),
        (quantity.RESERVE, "20 %", 20),
        (quantity.RESERVE, "20 percent", 20),
        (quantity.DIFFERENCE_SHOWN, "2 points a year", 2),
        (quantity.WARRANTY_CYCLES, "3000", 3000),
    ],
)
def test_a_number_is_read_in_the_unit_it_was_typed_in(asked, text, value):
    assert asked.parse(text) == value


@pytest.mark.parametrize(
    ("asked", "text", "expected"),
    [
        (CURRENT, "8.5 V", "a current in A, a number above 0"),
        (CURRENT, "95 F", "a current in A"),
        (CHARGE, "1280 Wh", "an amount of charge in Ah"),
        (CHARGE, "10 A", "an amount of charge in Ah"),
        (AIR, "20 %", "a temperature in °C"),
        (DAYS, "3 months", "a length of time in days"),
        (DAYS, "1 year", "a length of time in days"),
        (YEARS, "365 days", "a number of months or years in years"),
    ],
)
def test_a_unit_of_another_kind_is_refused_by_name(asked, text, expected):
    with pytest.raises(InvalidInput) as refused:
        asked.parse(text)
    assert f"“{text}” does not fit. It needs {expected}" in str(refused.value)


@pytest.mark.parametrize(
    ("asked", "text", "one", "other"),
    [
        (CURRENT, "1,200 mA", "1200 mA", "1.200 mA"),
        (VOLTAGE, "12,800 mV", "12800 mV", "12.800 mV"),
        (POWER, "1,200", "1200 W", "1.200 W"),
        (POWER, "1,200 W", "1200 W", "1.200 W"),
        (quantity.PRICE, "1,200", "1200", "1.200"),
        (quantity.WARRANTY_CYCLES, "3,000", "3000", "3.000"),
        (MINUTES, "1:30", "1 h 30 min", "1 min 30 s"),
        (HOURS, "90 m", "90 min", "90 months"),
    ],
)
def test_what_could_be_two_numbers_is_refused_with_both(asked, text, one, other):
    with pytest.raises(InvalidInput) as refused:
        asked.parse(text)
    assert f"{one} or {other}: the " in str(refused.value)


@pytest.mark.parametrize(
    ("asked", "text"),
    [
        (CURRENT, "8.5 Q"),
        (CURRENT, "8 5"),
        (CURRENT, "1,234.5"),
        (CURRENT, "A"),
        (CURRENT, "8 A 500 mA"),
        (CURRENT, "1h30"),
        (HOURS, "1h75"),
        (HOURS, "1:75"),
        (HOURS, "1,5h30"),
        (HOURS, "-1h30"),
        (CURRENT, "nan A"),
        (CURRENT, "1e400 A"),
        (VOLTAGE, "500 mV"),
        (quantity.RESERVE, "95 %"),
    ],
)
def test_what_is_no_number_in_the_range_is_refused_with_the_range(asked, text):
    with pytest.raises(InvalidInput) as refused:
        asked.parse(text)
    assert f"“{text}” does not fit. It needs {asked.allowed}" in str(refused.value)


def test_no_name_means_two_units():
    names = [name.casefold() for unit in UNITS for name in (unit.symbol, *unit.also)]
    assert len(names) == len(set(names))


def test_a_text_without_a_known_unit_is_left_as_it_is():
    assert split_unit("12,8 Q") == ("12,8 Q", None)


@pytest.mark.parametrize("text", ["", "90", "1:30", "h", "1 h 30 V"])
def test_what_is_no_span_in_hours_is_none(text):
    assert parse_duration(text) is None


@given(
    st.sampled_from(UNITS),
    st.floats(0.001, 1e6, allow_subnormal=False),
    st.sampled_from(["", " ", "\u00a0"]),
)
def test_a_number_typed_in_any_unit_is_that_number_in_the_asked_unit(unit, value, gap):
    base = {one.kind: one for one in reversed(UNITS) if one.times == one.over}.get(unit.kind)
    asked = Quantity("any", (base or unit).symbol, -1e300, 1e300)
    read = asked.parse(f"{value!r}{gap}{unit.symbol}")
    own = unit_named(asked.unit)
    assert own.to_base(read) == pytest.approx(unit.to_base(value), rel=1e-14, abs=1e-12)


@given(st.sampled_from(UNITS), st.floats(-1e9, 1e9), st.booleans())
def test_a_number_in_the_asked_unit_is_kept_to_the_last_bit(unit, value, with_unit):
    asked = Quantity("any", unit.symbol, -1e300, 1e300)
    assert asked.parse(f"{value!r} {unit.symbol}" if with_unit else repr(value)) == value


@given(
    st.integers(0, 99), st.integers(0, 59), st.sampled_from(["{}h{:02}", "{} h {} min", "{}:{:02}"])
)
def test_spans_are_hours_and_minutes(hours, minutes, shape):
    asked = Quantity("any", "h", 0, 1000)
    assert asked.parse(shape.format(hours, minutes)) == (hours * 3600 + minutes * 60) / 3600


def test_every_kind_has_a_unit():
    assert {unit.kind for unit in UNITS} == set(Dimension)


@given(seconds=st.integers(0, 400_000))
def test_whole_seconds_written_with_colons_read_back(seconds):
    assert clock_span_s(as_clock_span(seconds)) == seconds


def test_what_rounds_up_to_a_minute_is_written_as_that_minute():
    assert as_clock_span(59.9996) == "0:01"
    assert as_clock_span(3661.25) == "1:01:01.25"
