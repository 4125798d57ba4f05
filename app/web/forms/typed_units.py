"""In which unit a form shows and takes temperatures, and what its reader sets between thousands.

A form says itself in which unit its temperatures stand (DEGREES), so that it means the same when
it is sent, whatever its reader prefers by then. Without that they are in °C, as they are stored.
"""

import re
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from app.domain.i18n.message import Reader, written_digits
from app.domain.i18n.preferences import TemperatureShown
from app.domain.quantity import fahrenheit_of
from app.domain.units.unit import THOUSANDS

DEGREES = "degrees"
FAHRENHEIT, CELSIUS = "f", "c"
UNITS = ((CELSIUS, "°C"), (FAHRENHEIT, "°F"))
# Names of fields carry their unit; cells of tables have the name of their column and a number.
_TEMPERATURE = re.compile(r"(?:\w+_c|(?:temperature|night|day)_\d+)")
_POINTED = re.compile(r"[+\-−]?\d+\.\d+")
# Amps, volts, degrees and per cent; see `Quantity.in_thousands`.
_NO_THOUSANDS = re.compile(
    r"\w+_(?:a|v|c|percent)|ended_after_h|(?:current|voltage|temperature|gauge|night|day)_\d+"
)
# The server adds it to what was sent; no form has such a field.
POINT_IN_THOUSANDS = " point between thousands"


def is_in_fahrenheit(values: Mapping[str, str]) -> bool:
    """Whether the temperatures of a form are in °F."""
    return values.get(DEGREES) == FAHRENHEIT


def as_typed_by(reader: Reader, values: Mapping[str, str]) -> Mapping[str, str]:
    """The values of a form in the reader's unit. What says its unit was typed, and stays."""
    prefers = reader.preferences.temperature is TemperatureShown.FAHRENHEIT
    return in_fahrenheit(values) if prefers and DEGREES not in values else values


def in_fahrenheit(values: Mapping[str, str]) -> dict[str, str]:
    """Values in °C as a form in °F shows them; what is no bare number stays as it is."""
    changed = {
        name: shown
        for name, text in values.items()
        if _TEMPERATURE.fullmatch(name) and (shown := _in_fahrenheit(text))
    }
    return {**values, **changed, DEGREES: FAHRENHEIT}


def page_as_typed_by(reader: Reader, context: Any) -> Any:
    """A page with every form on it in the reader's unit; anything else as it is."""
    if reader.preferences.temperature is TemperatureShown.CELSIUS or not is_dataclass(context):
        return context
    assert not isinstance(context, type)
    changed: dict[str, Any] = {}
    for one in fields(context):
        value = getattr(context, one.name)
        if one.name == "values" and isinstance(value, Mapping):
            changed["values"] = as_typed_by(reader, value)
        elif one.name == "form":
            changed["form"] = page_as_typed_by(reader, value)
    return replace(context, **changed) if changed else context


def with_own_sign(text: str, name: str) -> str:
    """A number in a field with the decimal sign of whoever reads it, and any other text as it is.

    Where people write thousands, a point before three digits stays: a comma could mean either.
    """
    if not _POINTED.fullmatch(text):
        return text
    two_readings = THOUSANDS.fullmatch(text.replace(".", ","))
    return text if two_readings and not _NO_THOUSANDS.fullmatch(name) else written_digits(text)


def in_degrees(celsius: float, values: Mapping[str, str]) -> float:
    """A stored temperature in the unit of a form."""
    return fahrenheit_of(celsius) if is_in_fahrenheit(values) else celsius


def _in_fahrenheit(text: str) -> str:
    try:
        celsius = float(text.strip().replace(",", ".").replace("−", "-"))
    except ValueError:
        return ""
    return f"{fahrenheit_of(celsius):.10g}"
