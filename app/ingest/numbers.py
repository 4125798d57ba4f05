"""From a cell to a number: its unit, and the mark that its table has for decimals."""

import re
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.domain.i18n.message import say
from app.domain.quantity import parse_number
from app.domain.units.column import ColumnUse
from app.domain.units.unit import THOUSANDS, Dimension, split_unit, unit_named
from app.ingest.wording.cells import without_spaces

Floats = NDArray[np.float64]
"""What a column of numbers is called in annotations."""
_UNIT_OF = {
    ColumnUse.ELAPSED_MS: "ms",
    ColumnUse.ELAPSED_MIN: "min",
    ColumnUse.ELAPSED_H: "h",
    ColumnUse.EPOCH_MS: "ms",
    ColumnUse.SERIAL_DAYS: "days",
    ColumnUse.CURRENT_MA: "mA",
    ColumnUse.CURRENT_UA: "µA",
    ColumnUse.CURRENT_KA: "kA",
    ColumnUse.VOLTAGE_MV: "mV",
    ColumnUse.VOLTAGE_KV: "kV",
    ColumnUse.TEMPERATURE_F: "°F",
    ColumnUse.POWER_MW: "mW",
    ColumnUse.POWER_KW: "kW",
    ColumnUse.COUNT_MAH: "mAh",
}
# How a value, or a whole column, is turned into the unit of the readings.
CONVERT: dict[ColumnUse, Callable[[Any], Any]] = {
    use: unit.to_base for use, name in _UNIT_OF.items() if (unit := unit_named(name))
}
# What a unit inside a cell tells about its column.
_ROLES = {
    Dimension.CHARGE: "count",
    Dimension.ENERGY: "energy",
    Dimension.CURRENT: "current",
    Dimension.VOLTAGE: "voltage",
    Dimension.POWER: "power",
    Dimension.TEMPERATURE: "temperature",
    Dimension.SHARE: "gauge",
    Dimension.TIME: "time",
}
# Thousands set apart by the mark that does not stand for decimals.
_GROUPED = {
    mark: re.compile(rf"([+\-−]?[1-9]\d{{0,2}}(?:{re.escape(other)}\d{{3}})+)({mark}\d*)?")
    for mark, other in ((",", "."), (r"\.", ","))
}
# So small a unit that thousands of it are usual.
SMALL = (
    ColumnUse.CURRENT_MA,
    ColumnUse.CURRENT_UA,
    ColumnUse.VOLTAGE_MV,
    ColumnUse.POWER_MW,
    ColumnUse.COUNT_MAH,
    ColumnUse.ELAPSED_MS,
)
_UNDER_A_THOUSAND = ("current", "voltage", "temperature", "gauge")


def value_of(cell: str, use: ColumnUse, mark: str = "") -> float | None:
    """A cell in the unit of the readings; its own unit, if it has one, must be of the same kind.

    mark is what stands for decimals in the whole table, empty where that is not sure.
    """
    digits, unit = split_unit(without_spaces(cell))
    millivolts = use is ColumnUse.VOLTAGE_MV if unit is None else unit.symbol == "mV"
    if millivolts and THOUSANDS.fullmatch(digits):
        # A comma before three digits: no battery has 12.8 mV.
        digits = digits.replace(",", "")
    elif mark and ("." if mark == "," else ",") in digits:
        # Elsewhere than between thousands it can only stand for decimals after all.
        digits = _grouped(digits, mark) or digits
    value = parse_number(digits)
    if value is not None and unit is not None:
        # The unit in the cell counts before the one in the heading.
        return float(unit.to_base(value)) if _ROLES.get(unit.kind) == use.role else None
    convert = CONVERT.get(use)
    return value if value is None or convert is None else float(convert(value))


def _grouped(digits: str, mark: str) -> str | None:
    """A number without the marks between its thousands; None where they stand elsewhere."""
    other = "." if mark == "," else ","
    found = _GROUPED["," if mark == "," else r"\."].fullmatch(digits)
    return None if found is None else found[1].replace(other, "") + (found[2] or "")


def two_readings(cell: str, use: ColumnUse, mark: str = "") -> str:
    """What a cell could be whose mark could stand for thousands or for decimals; else empty.

    Milliamps are often thousands; amps never are, so there the mark of the rest of the table
    settles nothing.
    """
    digits, unit = split_unit(without_spaces(cell))
    milliamps = use is ColumnUse.CURRENT_MA if unit is None else unit.symbol == "mA"
    if not mark:
        if not (milliamps and THOUSANDS.fullmatch(digits)):
            return ""
        return say(
            "{whole} or {point}: the comma could mean either",
            whole=digits.replace(",", ""),
            point=digits.replace(",", "."),
        )
    other = "." if mark == "," else ","
    small = use in SMALL if unit is None else unit.over > 1
    grouped = _grouped(digits, mark) if other in digits else None
    if small or grouped is None or use.role not in _UNDER_A_THOUSAND:
        return ""
    return say(
        "{whole} or {point}: the rest of the table uses another decimal mark",
        whole=grouped,
        point=digits.replace(",", "."),
    )
