"""Guessing what each column of a file is, from its heading and from what stands in it."""

import re
from collections.abc import Callable
from typing import Any

from app.domain.column import ColumnUse
from app.domain.quantity import parse_number
from app.ingest.table import Table, is_date, is_time

# How a value, or a whole column, is turned into the unit of the readings.
CONVERT: dict[ColumnUse, Callable[[Any], Any]] = {
    ColumnUse.ELAPSED_MIN: lambda value: value * 60,
    ColumnUse.ELAPSED_H: lambda value: value * 3600,
    ColumnUse.EPOCH_MS: lambda value: value / 1000,
    ColumnUse.CURRENT_MA: lambda value: value / 1000,
    ColumnUse.VOLTAGE_MV: lambda value: value / 1000,
    ColumnUse.TEMPERATURE_F: lambda value: (value - 32) / 1.8,
}

# Whole words of a heading, and beginnings of longer ones, that tell a role; the first role wins.
_WORDS: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("channel", ("channel", "ch", "battery", "unit", "kanal"), ()),
    ("count", ("ah", "capacity"), ("amp-h", "ampereh", "amph", "kapaz")),
    ("power", ("p", "power", "w", "watt", "watts"), ("leist", "puissan")),
    ("gauge", ("soc", "%", "gauge", "percent"), ("ladezust", "prozent")),
    ("temperature", ("temp", "°c", "°f", "degc", "degf"), ("temper",)),
    ("current", ("i", "amp", "amps"), ("curr", "strom", "amper", "ampèr", "cour")),
    ("voltage", ("u", "v", "volt", "volts"), ("volta", "spannung", "tension")),
    ("date", ("date", "datum", "day", "tag"), ()),
    (
        "time",
        ("t", "time", "clock", "uhr", "zeit", "temps", "h", "hr", "s", "sec", "min", "utc"),
        ("timest", "datet", "elaps", "uhrz", "hour", "minut", "second", "stunde", "sekund"),
    ),
)
_INSTEAD = ("power", "count")
_UNIT = re.compile(r"(?:[\[(/_,\s]|^)(mA|A|mV|V|°?C|°?F|%|ms|s|sec|min|h|hrs?)[\])]?\s*$", re.I)
_WITHOUT_HEADER = (
    ColumnUse.CLOCK,
    ColumnUse.CURRENT_A,
    ColumnUse.VOLTAGE_V,
    ColumnUse.TEMPERATURE_C,
    ColumnUse.GAUGE_PERCENT,
)


def guess_uses(table: Table) -> tuple[ColumnUse, ...]:
    """Guess the use of every column from its heading, else from its place.

    A heading is read for a word and a unit; each use is given once, to the leftmost column.
    """
    if not any(re.search(r"[A-Za-z%°]", name) for name in table.header):
        places = [*_WITHOUT_HEADER, *[ColumnUse.IGNORE] * table.width][: table.width]
        return tuple(_settle_time(table, i, use) for i, use in enumerate(places))
    named = [_from_heading(name) for name in table.header]
    roles = {use.role for use in named}
    taken: set[str] = set()
    uses = []
    for index, guess in enumerate(named):
        use = _settle_time(table, index, guess)
        if use.role in _INSTEAD and "current" in roles:
            # Power and a count are needed only where no current was logged.
            use = ColumnUse.IGNORE
        if use.role in taken:
            use = ColumnUse.IGNORE
        if use is not ColumnUse.IGNORE:
            taken.add(use.role)
        uses.append(use)
    return tuple(uses)


def _from_heading(name: str) -> ColumnUse:
    unit_match = _UNIT.search(name)
    unit = unit_match[1].casefold().lstrip("°") if unit_match else ""
    text = name.casefold()
    words = re.findall(r"[^\W\d_]+|%|°[cf]?", text)
    if "charge" in words and "discharge" not in words and "state" not in words:
        # "Charge current" beside "discharge current": the charge is not the test.
        return ColumnUse.IGNORE
    role = "gauge" if "state" in words and "charge" in words else _role(words)
    if not role:
        role = {"ma": "current", "a": "current", "mv": "voltage", "v": "voltage"}.get(unit, "")
        role = role or {"c": "temperature", "f": "temperature", "%": "gauge"}.get(unit, "")
        role = role or ("time" if unit else "")
    return {
        "gauge": ColumnUse.GAUGE_PERCENT,
        "channel": ColumnUse.CHANNEL,
        "count": ColumnUse.COUNT_AH,
        "power": ColumnUse.POWER_W,
        "temperature": ColumnUse.TEMPERATURE_F if unit == "f" else ColumnUse.TEMPERATURE_C,
        "current": ColumnUse.CURRENT_MA if unit == "ma" else ColumnUse.CURRENT_A,
        "voltage": ColumnUse.VOLTAGE_MV if unit == "mv" else ColumnUse.VOLTAGE_V,
        "date": ColumnUse.DATE,
        "time": _time_unit(unit or _spelled_unit(text)),
    }.get(role, ColumnUse.IGNORE)


def _role(words: list[str]) -> str:
    for role, whole, beginnings in _WORDS:
        if any(word in whole or word.startswith(beginnings or ("\0",)) for word in words):
            return role
    return ""


def _spelled_unit(text: str) -> str:
    for word, unit in (("hour", "h"), ("stunde", "h"), ("min", "min")):
        if word in text:
            return unit
    return ""


def _time_unit(unit: str) -> ColumnUse:
    if unit == "min":
        return ColumnUse.ELAPSED_MIN
    if unit.startswith("h"):
        return ColumnUse.ELAPSED_H
    return ColumnUse.ELAPSED_S if unit in ("s", "sec") else ColumnUse.CLOCK


def _settle_time(table: Table, index: int, use: ColumnUse) -> ColumnUse:
    """A column of times or dates is known better from what stands in it."""
    if use.role not in ("time", "date"):
        return use
    cells = [row[index] for row in table.head if row[index]]
    cell = cells[0] if cells else ""
    if is_time(cell):
        return ColumnUse.CLOCK
    if is_date(cell):
        return ColumnUse.DATE
    whole = re.match(r"\d+", cell)
    digits = len(whole[0]) if whole else 0
    if digits >= 12:
        return ColumnUse.EPOCH_MS
    if digits >= 9:
        return ColumnUse.EPOCH_S
    if use in (ColumnUse.CLOCK, ColumnUse.DATE):
        return _span_without_unit(cells)
    return use


def _span_without_unit(cells: list[str]) -> ColumnUse:
    """Numbers without a unit: hours where all fit into three days, else seconds.

    A run of 72 seconds is no test, one of 72 hours is a long one.
    """
    numbers = [value for cell in cells if (value := parse_number(cell)) is not None]
    return ColumnUse.ELAPSED_H if numbers and max(numbers) <= 72 else ColumnUse.ELAPSED_S
