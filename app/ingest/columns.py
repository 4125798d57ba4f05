"""Guessing what each column of a file is, from its heading and from what stands in it."""

import re
from collections.abc import Callable
from typing import Any

from app.domain.column import USUAL_ORDER, ColumnUse
from app.domain.errors import Problem
from app.domain.noted import noted
from app.domain.quantity import parse_number
from app.domain.saying import say
from app.domain.unit import unit_named
from app.ingest.table import Table, is_date, is_time

_UNIT_OF = {
    ColumnUse.ELAPSED_MS: "ms",
    ColumnUse.ELAPSED_MIN: "min",
    ColumnUse.ELAPSED_H: "h",
    ColumnUse.EPOCH_MS: "ms",
    ColumnUse.SERIAL_DAYS: "days",
    ColumnUse.CURRENT_MA: "mA",
    ColumnUse.VOLTAGE_MV: "mV",
    ColumnUse.TEMPERATURE_F: "°F",
    ColumnUse.POWER_KW: "kW",
    ColumnUse.COUNT_MAH: "mAh",
}
# How a value, or a whole column, is turned into the unit of the readings.
CONVERT: dict[ColumnUse, Callable[[Any], Any]] = {
    use: unit.to_base for use, name in _UNIT_OF.items() if (unit := unit_named(name))
}

_SPELLED_TIMES = ("hour", "minut", "second", "millisec", "stunde", "sekund")
# Whole words of a heading, and beginnings of longer ones, that tell a role; the first role wins.
_WORDS: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("count", ("ah", "mah", "capacity"), ("amp-h", "ampereh", "amph", "milliamph", "kapaz")),
    ("power", ("p", "power", "w", "kw", "watt", "watts"), ("leist", "puissan", "kilowatt")),
    ("gauge", ("soc", "%", "gauge", "percent"), ("ladezust", "prozent")),
    ("temperature", ("temp", "°c", "°f", "degc", "degf"), ("temper", "fahrenh", "celsi")),
    ("current", ("i", "amp", "amps", "ma"), ("curr", "strom", "amper", "ampèr", "cour", "milliam")),
    ("voltage", ("u", "v", "mv", "volt", "volts"), ("volta", "spannung", "tension", "millivo")),
    ("date", ("date", "datum", "day", "tag"), ()),
    (
        "time",
        ("t", "time", "clock", "uhr", "zeit", "temps", "h", "hr", "s", "sec", "min", "utc", "ms"),
        ("timest", "datet", "elaps", "epoch", "unix", "uhrz", *_SPELLED_TIMES),
    ),
)
# A heading of these alone tells several batteries apart; beside a quantity they only say whose.
_CHANNELS = ("channel", "ch", "battery", "unit", "kanal")
# What flows into a battery is not the test.
_INCOMING = ("charge", "charger", "charging", "solar", "pv", "alternator")
_INSTEAD = ("power", "count")
_MOST_CHANNELS = 16
# How long a record may be to be a test, in each unit: half an hour to three days.
_PLAUSIBLE = (
    (ColumnUse.ELAPSED_H, 1, 72),
    (ColumnUse.ELAPSED_MIN, 30, 4_320),
    (ColumnUse.ELAPSED_S, 1_800, 259_200),
)
# Days of the years 2000 to 2100 as spreadsheets count them.
_SERIAL_DAYS = (36_526, 73_051)
_LONGEST_DAYS = 30
# Units that change a value, by role: beginnings of words, wherever they stand in the heading.
_SCALED: tuple[tuple[str, ColumnUse, str], ...] = (
    ("current", ColumnUse.CURRENT_MA, r"ma|milliam\w*"),
    ("voltage", ColumnUse.VOLTAGE_MV, r"mv|millivo\w*"),
    ("temperature", ColumnUse.TEMPERATURE_F, r"°f|f|degf|fahrenh\w*"),
    ("power", ColumnUse.POWER_KW, r"kw|kilowatt\w*"),
    ("count", ColumnUse.COUNT_MAH, r"mah|milliamp\w*"),
    ("time", ColumnUse.ELAPSED_MS, r"ms|msec|millisec\w*"),
    ("time", ColumnUse.ELAPSED_MIN, r"min|mins|minut\w*"),
    ("time", ColumnUse.ELAPSED_H, r"h|hr|hrs|hour\w*|stunde\w*"),
    ("time", ColumnUse.ELAPSED_S, r"s|sec|secs|second\w*|sekund\w*"),
)
_PLAIN = {
    "gauge": ColumnUse.GAUGE_PERCENT,
    "channel": ColumnUse.CHANNEL,
    "count": ColumnUse.COUNT_AH,
    "power": ColumnUse.POWER_W,
    "temperature": ColumnUse.TEMPERATURE_C,
    "current": ColumnUse.CURRENT_A,
    "voltage": ColumnUse.VOLTAGE_V,
    "date": ColumnUse.DATE,
    "time": ColumnUse.CLOCK,
}
_AS_WELL = {
    "current": noted("“{heading}” could be the current as well; it was left out."),
    "voltage": noted("“{heading}” could be the voltage as well; it was left out."),
}
_LETTERS = {"a": "current", "c": "temperature", "f": "temperature"}


def guess_uses(table: Table) -> tuple[ColumnUse, ...]:
    """Guess the use of every column from its heading, else from its place.

    A heading is read for a word and a unit; each use is given once, to the leftmost column.
    """
    if not any(re.search(r"[A-Za-z%°]", name) for name in table.header):
        places = [*USUAL_ORDER, *[ColumnUse.IGNORE] * table.width][: table.width]
        return tuple(_settle_time(table, i, use) for i, use in enumerate(places))
    named = [_settle_channel(table, i, use_of_heading(n)) for i, n in enumerate(table.header)]
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


def use_of_heading(name: str) -> ColumnUse:
    """What a heading says: a word or a unit tells the role, a unit the scale."""
    words = re.findall(r"[^\W\d_]+|%|°[cf]?", name.casefold())
    state = "state" in words and "charge" in words
    if not state and "discharge" not in words and any(word in _INCOMING for word in words):
        return ColumnUse.IGNORE
    role = "gauge" if state else _role(words)
    for scaled, use, unit in _SCALED:
        if scaled == role and any(re.fullmatch(unit, word) for word in words):
            return use
    return _PLAIN.get(role, ColumnUse.IGNORE)


def _role(words: list[str]) -> str:
    for role, whole, beginnings in _WORDS:
        if any(word in whole or word.startswith(beginnings or ("\0",)) for word in words):
            return role
    # One letter is a unit only where it stands last: "Battery A", not "A phase".
    role = _LETTERS.get(words[-1], "") if words else ""
    if any(word in _CHANNELS for word in words):
        # "Channel A" is a name, "Battery A" a current.
        return role if role and words[0] not in ("channel", "ch", "kanal") else "channel"
    return role


def left_out_twins(table: Table, uses: tuple[ColumnUse, ...]) -> list[str]:
    """Sentences on columns that could be the current, too, and were not taken."""
    taken = {use.role for use in uses}
    return [
        say(_AS_WELL[guess.role], heading=name)
        for name, use in zip(table.header, uses, strict=True)
        if use is ColumnUse.IGNORE
        and (guess := use_of_heading(name)).role in _AS_WELL
        and guess.role in taken
    ]


def _settle_channel(table: Table, index: int, use: ColumnUse) -> ColumnUse:
    """A channel has a few names; a column of measured values is none."""
    if use is not ColumnUse.CHANNEL:
        return use
    names = {row[index] for row in table.head}
    measured = any(re.fullmatch(r"[+-]?\d*[.,]\d+", name) for name in names)
    return ColumnUse.IGNORE if measured or len(names) > _MOST_CHANNELS else use


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
        return _number_without_unit(table, index)
    return use


def _number_without_unit(table: Table, index: int) -> ColumnUse:
    """Numbers of a time without a unit: whatever makes a record of half an hour to three days.

    Where that can be more than one unit, nothing is taken: an hour is not sixty. Numbers with a
    fraction that are days of this century are a spreadsheet's dates.
    """
    first, last = (parse_number(row[index]) for row in (table.head[0], table.last_row()))
    if first is None or last is None:
        return ColumnUse.IGNORE
    if _SERIAL_DAYS[0] <= first < _SERIAL_DAYS[1] and last - first < _LONGEST_DAYS and first % 1:
        return ColumnUse.SERIAL_DAYS
    fitting = [use for use, low, high in _PLAUSIBLE if low <= last - first <= high]
    return fitting[0] if len(fitting) == 1 else ColumnUse.IGNORE


def left_open(table: Table, uses: tuple[ColumnUse, ...]) -> tuple[Problem, ...]:
    """The question in which unit the time is, where it has none and could be several."""
    if any(use.role == "time" for use in uses):
        return ()
    for index, name in enumerate(table.header):
        first, last = table.head[0][index], table.last_row()[index]
        if use_of_heading(name).role == "time" and parse_number(first) is not None:
            allowed = say("seconds, minutes or hours to be chosen, or named in its heading")
            return (
                Problem(
                    say("unit of “{heading}”", heading=name),
                    say("{first} to {last}", first=first, last=last),
                    allowed,
                    f"use_{index}",
                ),
            )
    return ()
