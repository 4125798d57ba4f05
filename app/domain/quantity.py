"""What numbers a user may give: one range per quantity, used by forms, files and command line."""

import math
import re
from dataclasses import dataclass

from app.domain.errors import Refused

_NUMBER = re.compile(r"[+\-−]?(\d+([.,]\d*)?|[.,]\d+)([eE][+\-]?\d+)?")


@dataclass(frozen=True)
class Quantity:
    """A named quantity with its unit and the closed range that is accepted."""

    label: str
    unit: str
    low: float
    high: float
    above_low: bool = False

    @property
    def allowed(self) -> str:
        unit = f" {self.unit}" if self.unit else ""
        if self.above_low:
            return f"a number above {self.low:g} and up to {self.high:g}{unit}"
        return f"a number from {self.low:g} to {self.high:g}{unit}"

    def holds(self, value: float) -> bool:
        if not math.isfinite(value) or value > self.high:
            return False
        return value > self.low if self.above_low else value >= self.low

    def check(self, value: float, where: str = "", field: str = "") -> float:
        """Return the value, or refuse it by name.

        Raises Refused with the place (`where`, the label by default), the value and the range.
        """
        if not self.holds(value):
            raise Refused.because(where or self.label, f"{value:g}", self.allowed, field)
        return value

    def parse(self, text: str, where: str = "", field: str = "") -> float:
        """Read a number typed with a decimal point or comma, with or without the unit behind it."""
        number = parse_number(text, self.unit)
        if number is None:
            raise Refused.because(where or self.label, text, self.allowed, field)
        if not self.holds(number):
            raise Refused.because(where or self.label, text, self.allowed, field)
        return number


def parse_number(text: str, unit: str = "") -> float | None:
    """Read one number; None where the text is not one (words, NaN, infinity, two numbers).

    A single comma is a decimal comma: nobody types thousands of amp-hours with separators.
    """
    cleaned = text.strip().replace("\u00a0", "").replace("\u202f", "")
    if unit and cleaned.casefold().endswith(unit.casefold()):
        cleaned = cleaned[: -len(unit)].rstrip()
    if not _NUMBER.fullmatch(cleaned):
        return None
    value = float(cleaned.replace(",", ".").replace("−", "-"))
    return value if math.isfinite(value) else None


NOMINAL_VOLTAGE = Quantity("nominal voltage", "V", 1, 1000)
RATED_CAPACITY = Quantity("rated capacity", "Ah", 0.1, 100_000)
RATED_HOURS = Quantity("hour rate of the rated capacity", "h", 0.1, 200)
RATED_TEMPERATURE = Quantity("temperature of the rated capacity", "°C", -20, 60)
RESERVE = Quantity("reserve kept back", "%", 0, 90)
END_OF_LIFE_SHARE = Quantity("end-of-life threshold", "", 0.1, 1)
END_OF_LIFE = Quantity("end-of-life threshold", "%", 10, 100)
DAILY_USE = Quantity("use a day", "Ah", 0, 100_000, above_low=True)
NIGHTS = Quantity("nights without charging", "", 0, 365, above_low=True)
TEST_INTERVAL = Quantity("days between tests", "days", 1, 3650)
CUT_OFF_VOLTAGE = Quantity("cut-off voltage", "V", 0.1, 1000)
EMPTY_VOLTAGE = Quantity("voltage under load when empty", "V", 0.1, 1000)
AMBIENT_TEMPERATURE = Quantity("air temperature", "°C", -60, 90)
ENDED_AFTER = Quantity("hours until the end", "h", 0, 2400, above_low=True)
LOAD_CURRENT = Quantity("current of the load", "A", 0, 100_000, above_low=True)
READING_EVERY = Quantity("minutes between readings", "min", 1, 720)
DIFFERENCE_SHOWN = Quantity("difference worth knowing", "points a year", 0, 100, above_low=True)
PRICE = Quantity("price", "", 0, 10_000_000)
WARRANTY_YEARS = Quantity("years of the warranty", "years", 0, 50, above_low=True)
WARRANTY_SHARE = Quantity("capacity that the warranty promises", "%", 10, 100)
WARRANTY_CYCLES = Quantity("cycles of the warranty", "", 1, 1_000_000)
DRAWN_A_WEEK = Quantity("drawn in a week", "Ah", 0, 1_000_000)
FULL_DISCHARGES = Quantity("full discharges in a year", "", 0, 10_000)
CHARGE_WAITING = Quantity("charge while it waits", "%", 0, 100)
CHARGE_A_DAY = Quantity("charged in a day", "Ah", 0, 100_000)
COLD_WEEK = Quantity("battery's temperature in a cold week", "°C", -40, 40)
APPLIANCE_HOURS = Quantity("hours a day", "h", 0, 24, above_low=True)
APPLIANCE_CURRENT = Quantity("current of an appliance", "A", 0, 10_000, above_low=True)
APPLIANCE_POWER = Quantity("power of an appliance", "W", 0, 1_000_000, above_low=True)
PLACE_TEMPERATURE = Quantity("temperature of a place", "°C", -50, 80)
HOURS_A_YEAR = Quantity("hours of a year", "h", 0, 8784, above_low=True)

READING_ELAPSED = Quantity("time since start", "s", 0, 8_640_000)
READING_CURRENT = Quantity("current", "A", -100_000, 100_000)
READING_VOLTAGE = Quantity("voltage", "V", -10, 2000)
READING_TEMPERATURE = Quantity("temperature", "°C", -60, 120)
READING_POWER = Quantity("power", "W", -10_000_000, 10_000_000)
READING_COUNT = Quantity("amp-hours counted", "Ah", -1_000_000, 1_000_000)
READING_GAUGE = Quantity("gauge", "%", 0, 100)

METER_GAIN = Quantity("limit of the current reading", "%", 0, 50)
METER_OFFSET = Quantity("limit of the zero point", "A", 0, 1000)
METER_RESOLUTION = Quantity("smallest step shown", "A", 0, 1000)
