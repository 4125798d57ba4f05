"""What numbers a user may give: one range per quantity, used by forms, files and command line."""

import math
import re
from dataclasses import dataclass, replace

from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import AlsoFahrenheit, fahrenheit, say, transformed
from app.domain.units.unit import (
    POINTED_THOUSANDS,
    THOUSANDS,
    Dimension,
    Unit,
    clock_span_s,
    parse_duration,
    split_unit,
    unit_named,
)

_NUMBER = re.compile(r"[+\-−]?(\d+([.,]\d*)?|[.,]\d+)([eE][+\-]?\d+)?")


@dataclass(frozen=True)
class Quantity:
    """A quantity by its English name, with its unit and the closed range that is accepted.

    in_thousands: people write it with a comma between thousands, so 1,200 could be two numbers.
    """

    name: str
    unit: str
    low: float
    high: float
    above_low: bool = False
    in_thousands: bool = False

    @property
    def label(self) -> str:
        return say(self.name)

    @property
    def allowed(self) -> str:
        """The range in words, which end with the unit where there is one."""
        ends = {"low": self.low, "high": self.high, "unit": say(self.unit)}
        if self.above_low:
            words = say("a number above {low:g} and up to {high:g} {unit}", **ends)
        else:
            words = say("a number from {low:g} to {high:g} {unit}", **ends)
        words = words if self.unit else transformed(words, str.rstrip)
        if self.unit != "°C":
            return words
        # Where nobody typed it, °C stands first.
        return say("{range}", range=AlsoFahrenheit(words, self.low, self.high))

    @property
    def in_fahrenheit(self) -> "Quantity":
        """The same range of temperatures, as who prefers °F types it."""
        return replace(self, unit="°F", low=fahrenheit(self.low), high=fahrenheit(self.high))

    def holds(self, value: float) -> bool:
        if not math.isfinite(value) or value > self.high:
            return False
        return value > self.low if self.above_low else value >= self.low

    def check(self, value: float, where: str = "", field: str = "") -> float:
        """Return the value, or refuse it by name.

        Raises InvalidInput with the place (`where`, the label by default), the value and the range.
        """
        if not self.holds(value):
            raise InvalidInput.because(where or self.label, f"{value:g}", self.allowed, field)
        return value

    def parse(
        self, text: str, where: str = "", field: str = "", *, points_thousands: bool = False
    ) -> float:
        """Read a number with a decimal point or comma, with or without a unit of its kind behind.

        Returns it in the quantity's unit: 850 mA is 0.85 where amperes are asked, 1h30 is 1.5
        where hours are. points_thousands says that whoever typed it may set a point between
        thousands. Raises InvalidInput, with both readings where there are two.
        """
        own = unit_named(self.unit)
        allowed = self._two_readings(text, own, points_thousands=points_thousands)
        if not allowed:
            number = self._number(text, own)
            if number is not None and self.holds(number):
                return number
            allowed = self.expected(text)
        raise InvalidInput.because(where or self.label, text, allowed, field)

    def expected(self, text: str) -> str:
        """What is allowed instead of a text, in °F where that was typed; by name where its unit is
        one of another kind."""
        own, given = unit_named(self.unit), split_unit(text)[1]
        if self.unit == "°C" and given and given.symbol == "°F":
            return self.in_fahrenheit.allowed
        if own and given and given.kind is not own.kind:
            return say(
                "{measure} in {unit}, {allowed}",
                measure=own.kind.label,
                unit=own.label,
                allowed=self.allowed,
            )
        return self.allowed

    def _number(self, text: str, own: Unit | None) -> float | None:
        """The number in the own unit; None where it is none, or of another kind."""
        digits, given = split_unit(text)
        if given is None:
            span = _span(text) if own and own.kind is Dimension.TIME else None
            if own and span is not None:
                return own.from_base(span)
            return parse_number(digits.removesuffix(self.unit).rstrip() if self.unit else digits)
        number = parse_number(digits)
        if number is None or own is None or given.kind is not own.kind:
            return None
        return number if given is own else _exact(own.from_base(given.to_base(number)))

    def _two_readings(self, text: str, own: Unit | None, *, points_thousands: bool) -> str:
        """What could be meant, where a text could be two numbers of this quantity; else empty."""
        digits, given = split_unit(text)
        unit = given or own
        thousands = self.in_thousands or (given is not None and given.over == 1000)
        behind = " " + unit.label if unit else ""
        if thousands and THOUSANDS.fullmatch(digits):
            whole, point = digits.replace(",", ""), digits.replace(",", ".")
            return say(
                "{whole} or {broken}: the comma could mean either",
                whole=whole + behind,
                broken=point + behind,
            )
        if thousands and points_thousands and POINTED_THOUSANDS.fullmatch(digits):
            whole, point = digits.replace(".", ""), digits.replace(".", ",")
            return say(
                "{whole} or {broken}: the point may mean both",
                whole=whole + behind,
                broken=point + behind,
            )
        minutes = parse_number(text.strip()[:-1]) if text.strip().casefold().endswith("m") else None
        if minutes is not None and own and own.kind in (Dimension.TIME, Dimension.CALENDAR):
            return say(
                "{minutes:g} min or {minutes:g} months: the m could mean either", minutes=minutes
            )
        if own and own.symbol == "min" and clock_span_s(text) is not None and text.count(":") == 1:
            first, second = text.strip().split(":")
            return say(
                "{first} h {second} min or {first} min {second} s: the colon could mean either",
                first=first,
                second=second,
            )
        return ""


def celsius_of(degrees_f: float) -> float:
    """°F in °C, so exactly that what was typed comes back: 77 °F is 25 °C and 77 °F again."""
    return round((degrees_f - 32) / 1.8, 6)


def fahrenheit_of(celsius: float) -> float:
    """°C in °F, a digit less exactly than `celsius_of` stores: never 76.9999 of 77."""
    return round(fahrenheit(celsius), 5)


def _span(text: str) -> float | None:
    seconds = parse_duration(text)
    return clock_span_s(text) if seconds is None else seconds


def _exact(value: float) -> float:
    """Without the last bit that a way through the base unit may add: 0.1 V is 100 mV."""
    return float(f"{value:.15g}")


def parse_number(text: str) -> float | None:
    """Read one number; None where the text is not one (words, NaN, infinity, two numbers).

    A single comma is a decimal comma: nobody types thousands of amp-hours with separators. Where
    people do, the quantity says so and refuses the comma that could be either.
    """
    cleaned = text.strip().replace("\u00a0", "").replace("\u202f", "")
    if not _NUMBER.fullmatch(cleaned):
        return None
    value = float(cleaned.replace(",", ".").replace("−", "-"))
    return value if math.isfinite(value) else None


NOMINAL_VOLTAGE = Quantity(N_("nominal voltage"), "V", 1, 1000)
RATED_CAPACITY = Quantity(N_("rated capacity"), "Ah", 0.1, 100_000, in_thousands=True)
RATED_HOURS = Quantity(N_("hour rate"), "h", 0.1, 200)
RATED_TEMPERATURE = Quantity(N_("rated temperature"), "°C", -20, 60)
RESERVE = Quantity(N_("reserve kept back"), "%", 0, 90)
END_OF_LIFE_SHARE = Quantity(N_("end-of-life share"), "", 0.1, 1)
END_OF_LIFE = Quantity(N_("end-of-life share"), "%", 10, 100)
DAILY_USE = Quantity(N_("use a day"), "Ah", 0, 100_000, above_low=True, in_thousands=True)
NIGHTS = Quantity(N_("nights without charging"), "", 0, 365, above_low=True)
TEST_INTERVAL = Quantity(N_("test interval"), "days", 1, 3650, in_thousands=True)
CUT_OFF_VOLTAGE = Quantity(N_("cut-off voltage"), "V", 0.1, 1000)
EMPTY_VOLTAGE = Quantity(N_("empty under load"), "V", 0.1, 1000)
AMBIENT_TEMPERATURE = Quantity(N_("air temperature"), "°C", -60, 90)
ENDED_AFTER = Quantity(N_("hours until the end"), "h", 0, 2400, above_low=True)
LOAD_CURRENT = Quantity(N_("load current"), "A", 0, 100_000, above_low=True)
READING_EVERY = Quantity(N_("reading interval"), "min", 1, 720)
DIFFERENCE_SHOWN = Quantity(
    N_("difference worth knowing"), N_("points a year"), 0, 100, above_low=True
)
PRICE = Quantity(N_("price"), "", 0, 10_000_000, in_thousands=True)
WARRANTY_YEARS = Quantity(N_("years of the warranty"), "years", 0, 50, above_low=True)
WARRANTY_SHARE = Quantity(N_("capacity that the warranty promises"), "%", 10, 100)
WARRANTY_CYCLES = Quantity(N_("cycles of the warranty"), "", 1, 1_000_000, in_thousands=True)
DRAWN_A_WEEK = Quantity(N_("drawn in a week"), "Ah", 0, 1_000_000, in_thousands=True)
FULL_DISCHARGES = Quantity(N_("full discharges in a year"), "", 0, 10_000, in_thousands=True)
CHARGE_WAITING = Quantity(N_("state of charge while it waits"), "%", 0, 100)
CHARGE_A_DAY = Quantity(N_("charged in a day"), "Ah", 0, 100_000, in_thousands=True)
COLD_WEEK = Quantity(N_("battery's temperature in a cold week"), "°C", -40, 40)
APPLIANCE_HOURS = Quantity(N_("hours a day"), "h", 0, 24, above_low=True)
APPLIANCE_CURRENT = Quantity(N_("current of an appliance"), "A", 0, 10_000, above_low=True)
APPLIANCE_POWER = Quantity(
    N_("power of an appliance"), "W", 0, 1_000_000, above_low=True, in_thousands=True
)
PLACE_TEMPERATURE = Quantity(N_("temperature of a place"), "°C", -50, 80)
HOURS_A_YEAR = Quantity(N_("hours of a year"), "h", 0, 8784, above_low=True, in_thousands=True)
# Clocks of places reach to 14 hours; that of a machine may be set to anything below a day.
CLOCK_OFFSET = Quantity("offset of the clock", "min", -1439, 1439)

READING_ELAPSED = Quantity(N_("time since start"), "s", 0, 8_640_000)
READING_CURRENT = Quantity(N_("current"), "A", -100_000, 100_000)
READING_VOLTAGE = Quantity(N_("voltage"), "V", -10, 2000)
READING_TEMPERATURE = Quantity(N_("temperature"), "°C", -60, 120)
READING_POWER = Quantity(N_("power"), "W", -10_000_000, 10_000_000)
READING_COUNT = Quantity(N_("amp-hours counted"), "Ah", -1_000_000, 1_000_000)
READING_ENERGY = Quantity(N_("watt-hours counted"), "Wh", -100_000_000, 100_000_000)
COUNTED_CHARGE = Quantity(
    N_("amp-hours counted"), "Ah", 0, 100_000, above_low=True, in_thousands=True
)
COUNTED_ENERGY = Quantity(
    N_("watt-hours counted"), "Wh", 0, 10_000_000, above_low=True, in_thousands=True
)
MEAN_VOLTAGE = Quantity(N_("mean voltage of the test"), "V", 0.1, 1000)
LAST_VOLTAGE = Quantity(N_("last voltage under load"), "V", 0.1, 1000)
TEST_HOURS = Quantity(N_("hours the test took"), "h", 0, 2400, above_low=True)
READING_GAUGE = Quantity(N_("gauge"), "%", 0, 100)

METER_GAIN = Quantity(N_("largest reading error"), "%", 0, 50)
METER_OFFSET = Quantity(N_("largest zero-point error"), "A", 0, 1000)
METER_RESOLUTION = Quantity(N_("smallest step shown"), "A", 0, 1000)
