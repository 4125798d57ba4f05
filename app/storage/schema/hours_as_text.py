"""Hourly temperatures as one line of text a day, which any program can read."""

import math
from array import array
from collections.abc import Iterator
from datetime import date, timedelta

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.domain.quantity import READING_TEMPERATURE
from app.domain.temperature_log import HOURS_A_DAY, HourlyTemperatures

_NONE = "-"


def day_lines(hourly: HourlyTemperatures) -> Iterator[tuple[date, str]]:
    """Each day that knows an hour, with its 24 means to a hundredth of a degree."""
    for index in range(hourly.days):
        hours = hourly.celsius[index * HOURS_A_DAY : (index + 1) * HOURS_A_DAY]
        cells = [_NONE if math.isnan(value) else f"{value:.2f}" for value in hours]
        if any(cell != _NONE for cell in cells):
            yield hourly.first_day + timedelta(days=index), " ".join(cells)


def hours_of(text: str) -> "array[float]":
    """Invert a line. Raises StorageError where it is damaged."""
    try:
        made = array("d", (math.nan if cell == _NONE else float(cell) for cell in text.split(" ")))
    except ValueError:
        made = array("d")
    if len(made) != HOURS_A_DAY:
        raise StorageError(say("A day of a temperature log is damaged in the data file."))
    return made


def is_day_of_hours(text: object) -> bool:
    """Whether the text is such a line, within what a temperature may be."""
    try:
        hours = hours_of(text) if isinstance(text, str) else None
    except StorageError:
        return False
    return hours is not None and all(
        math.isnan(value) or READING_TEMPERATURE.holds(value) for value in hours
    )
