"""What each column of a file is, and in which unit."""

import re
from collections.abc import Callable
from enum import StrEnum

from app.ingest.table import Table, is_time


class ColumnUse(StrEnum):
    """What a column is read as; the value is what forms send."""

    IGNORE = "ignore"
    CLOCK = "clock"
    ELAPSED_S = "elapsed_s"
    ELAPSED_MIN = "elapsed_min"
    ELAPSED_H = "elapsed_h"
    EPOCH_S = "epoch_s"
    EPOCH_MS = "epoch_ms"
    CURRENT_A = "current_a"
    CURRENT_MA = "current_ma"
    VOLTAGE_V = "voltage_v"
    VOLTAGE_MV = "voltage_mv"
    TEMPERATURE_C = "temperature_c"
    TEMPERATURE_F = "temperature_f"
    GAUGE_PERCENT = "gauge_percent"

    @property
    def label(self) -> str:
        return _LABELS[self]

    @property
    def role(self) -> str:
        """The column of the readings that it fills."""
        return _ROLES[self]


_LABELS = {
    ColumnUse.IGNORE: "left out",
    ColumnUse.CLOCK: "time of day or h:mm",
    ColumnUse.ELAPSED_S: "time in seconds",
    ColumnUse.ELAPSED_MIN: "time in minutes",
    ColumnUse.ELAPSED_H: "time in hours",
    ColumnUse.EPOCH_S: "seconds since 1970",
    ColumnUse.EPOCH_MS: "milliseconds since 1970",
    ColumnUse.CURRENT_A: "current in A",
    ColumnUse.CURRENT_MA: "current in mA",
    ColumnUse.VOLTAGE_V: "voltage in V",
    ColumnUse.VOLTAGE_MV: "voltage in mV",
    ColumnUse.TEMPERATURE_C: "temperature in °C",
    ColumnUse.TEMPERATURE_F: "temperature in °F",
    ColumnUse.GAUGE_PERCENT: "the gauge's %",
}
_TIMES = (
    ColumnUse.CLOCK,
    ColumnUse.ELAPSED_S,
    ColumnUse.ELAPSED_MIN,
    ColumnUse.ELAPSED_H,
    ColumnUse.EPOCH_S,
    ColumnUse.EPOCH_MS,
)
_ROLES = {
    ColumnUse.IGNORE: "",
    **dict.fromkeys(_TIMES, "time"),
    ColumnUse.CURRENT_A: "current",
    ColumnUse.CURRENT_MA: "current",
    ColumnUse.VOLTAGE_V: "voltage",
    ColumnUse.VOLTAGE_MV: "voltage",
    ColumnUse.TEMPERATURE_C: "temperature",
    ColumnUse.TEMPERATURE_F: "temperature",
    ColumnUse.GAUGE_PERCENT: "gauge",
}

# How a value is turned into the unit of the readings.
CONVERT: dict[ColumnUse, Callable[[float], float]] = {
    ColumnUse.ELAPSED_MIN: lambda value: value * 60,
    ColumnUse.ELAPSED_H: lambda value: value * 3600,
    ColumnUse.EPOCH_MS: lambda value: value / 1000,
    ColumnUse.CURRENT_MA: lambda value: value / 1000,
    ColumnUse.VOLTAGE_MV: lambda value: value / 1000,
    ColumnUse.TEMPERATURE_F: lambda value: (value - 32) / 1.8,
}

_WORDS = (
    ("gauge", r"soc|state.?of.?charge|gauge|ladezustand|percent|prozent|%"),
    ("temperature", r"temp|°c|°f|degc|degf"),
    ("current", r"current|strom|amps?|amperes?|courant|i"),
    ("voltage", r"volt|spannung|tension|u|v"),
    ("time", r"t|time|zeit|elapsed|date|datum|clock|uhr|hours?|minutes?|seconds?|stunden?|temps"),
)
_UNIT = re.compile(r"(?:[\[(/_,\s]|^)(mA|A|mV|V|°?C|°?F|%|ms|s|sec|min|h|hrs?)[\])]?\s*$", re.I)
_WITHOUT_HEADER = (
    ColumnUse.ELAPSED_S,
    ColumnUse.CURRENT_A,
    ColumnUse.VOLTAGE_V,
    ColumnUse.TEMPERATURE_C,
    ColumnUse.GAUGE_PERCENT,
)


def guess_uses(table: Table) -> tuple[ColumnUse, ...]:
    """Guess the use of every column from its heading, else from its place.

    A heading is read for a word and a unit; each use is given once, to the leftmost column.
    """
    headed = any(re.search(r"[A-Za-z%°]", name) for name in table.header)
    if not headed:
        places = [*_WITHOUT_HEADER, *[ColumnUse.IGNORE] * table.width][: table.width]
        return tuple(_settle_time(table, i, use) for i, use in enumerate(places))
    taken: set[str] = set()
    uses = []
    for index, name in enumerate(table.header):
        use = _settle_time(table, index, _from_heading(name))
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
    role = next((role for role, words in _WORDS if _has_word(words, text)), "")
    if not role:
        role = {"ma": "current", "a": "current", "mv": "voltage", "v": "voltage"}.get(unit, "")
        role = role or {"c": "temperature", "f": "temperature", "%": "gauge"}.get(unit, "")
        role = role or ("time" if unit else "")
    return {
        "gauge": ColumnUse.GAUGE_PERCENT,
        "temperature": ColumnUse.TEMPERATURE_F if unit == "f" else ColumnUse.TEMPERATURE_C,
        "current": ColumnUse.CURRENT_MA if unit == "ma" else ColumnUse.CURRENT_A,
        "voltage": ColumnUse.VOLTAGE_MV if unit == "mv" else ColumnUse.VOLTAGE_V,
        "time": _time_unit(unit or _spelled_unit(text)),
    }.get(role, ColumnUse.IGNORE)


def _has_word(words: str, text: str) -> bool:
    """Short names (i, u, v) must stand alone; longer ones may be part of a word."""
    return any(
        re.search(rf"(?<![a-z]){word}(?![a-z])" if len(word) <= 2 else word, text)
        for word in words.split("|")
    )


def _spelled_unit(text: str) -> str:
    for word, unit in (("hour", "h"), ("stunde", "h"), ("min", "min")):
        if word in text:
            return unit
    return ""


def _time_unit(unit: str) -> ColumnUse:
    if unit == "min":
        return ColumnUse.ELAPSED_MIN
    return ColumnUse.ELAPSED_H if unit.startswith("h") else ColumnUse.ELAPSED_S


def _settle_time(table: Table, index: int, use: ColumnUse) -> ColumnUse:
    """A time column is known better from what stands in it."""
    if use.role != "time":
        return use
    cell = next((row[index] for row in table.rows if row[index]), "")
    if is_time(cell):
        return ColumnUse.CLOCK
    whole = re.match(r"\d+", cell)
    digits = len(whole[0]) if whole else 0
    if digits >= 12:
        return ColumnUse.EPOCH_MS
    if digits >= 9:
        return ColumnUse.EPOCH_S
    return use
