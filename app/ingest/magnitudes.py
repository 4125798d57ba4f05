"""Which units the numbers of a column fit that has none: by their size and by their steps."""

import re
from collections.abc import Sequence

import numpy as np

from app.domain.quantity import parse_number
from app.domain.units.column import ColumnUse
from app.ingest.dialect import CellTable
from app.ingest.numbers import Floats, value_of
from app.ingest.wording.cells import is_bare_date, is_date, is_missing, is_time
from app.ingest.wording.moments import clock_of_digits

# How long a record may be to be a test, in each unit: five minutes (in seconds; a minute where
# a machine plainly wrote it, half an hour where so few rows may be a hand's) or half an hour to
# three days. All of it common practice.
_HOURS, _MINUTES, _SECONDS = (1, 72), (30, 4_320), (300, 259_200)
_MIN_BY_MACHINE_S, _MIN_BY_HAND_S = 60, 1800
# Steps of a second or less are those of a logger that counts seconds.
_STEPS_OF_SECONDS = (1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.04, 0.02, 0.01)
# Whole minutes in seconds may as well be hours in minutes, however few they are.
_SECONDS_A_MINUTE = 60
# A machine that writes every moment to a hundredth, unevenly, looks at least this often.
_MAX_MACHINE_STEP_S = 120.0
_MACHINE_ROWS = 30
_JITTERING_SHARE = 0.2
_LENGTHS = {ColumnUse.ELAPSED_S: 1.0, ColumnUse.ELAPSED_MIN: 60.0, ColumnUse.ELAPSED_H: 3600.0}
# Up to here a current without a unit is one in A: 50 mA test no house battery. Likewise the rest.
MAX_PLAIN_A = 50.0
_PLAIN_W = (1.0, 1000.0)
MAX_PLAIN_AH = 1000.0
_VOLTS_END, _MILLIVOLTS_BEGIN = 1000.0, 2000.0
_CELSIUS_END, _FAHRENHEIT_BEGIN = 45.0, 60.0
_ON_SHARE = 0.05
UNITS_OF_ROLE = {
    "time": (ColumnUse.ELAPSED_S, ColumnUse.ELAPSED_MIN, ColumnUse.ELAPSED_H),
    "current": (
        ColumnUse.CURRENT_A,
        ColumnUse.CURRENT_MA,
        ColumnUse.CURRENT_UA,
        ColumnUse.CURRENT_KA,
    ),
    "voltage": (ColumnUse.VOLTAGE_V, ColumnUse.VOLTAGE_MV, ColumnUse.VOLTAGE_KV),
    "power": (ColumnUse.POWER_W, ColumnUse.POWER_MW, ColumnUse.POWER_KW),
    "count": (ColumnUse.COUNT_AH, ColumnUse.COUNT_MAH),
    "temperature": (ColumnUse.TEMPERATURE_C, ColumnUse.TEMPERATURE_F),
}
# Two columns that lie closer than this are the same current.
_SAME_SHARE = 0.005
# Days of the years 2000 to 2100 as spreadsheets count them.
_SERIAL_DAYS = (36_526, 73_051)
_MAX_DAYS = 30
# A battery's terminals under load, from empty to full, by what is sold (common practice).
_TERMINALS = ((1.7, 2.2), (2.4, 4.3), (5.2, 7.5), (9.5, 16.0), (19, 32), (29, 48), (38, 64))


def numbers_of(table: CellTable, index: int, use: ColumnUse) -> Floats:
    """A sample of a column in the unit of the readings; what is no number is left out."""
    values = (value_of(row[index], use, table.sure_mark) for row in table.sample)
    return np.array([value for value in values if value is not None])


def fitting_units(table: CellTable, index: int, role: str) -> tuple[ColumnUse, ...]:
    """The units that a column without one may be in, the likelier first; one where it is plain."""
    units = UNITS_OF_ROLE.get(role, ())
    if role == "time":
        return _times(table, index)
    if not units or _in_cells(table, index):
        return units[:1]
    size = np.abs(numbers_of(table, index, units[0]))
    if not size.size or not size.max():
        return units[:1]
    usual = float(np.median(size[size > _ON_SHARE * size.max()]))
    if role == "current":
        return units[:1] if usual < MAX_PLAIN_A else (units[1], units[0])
    if role == "power":
        low, high = _PLAIN_W
        return units[:1] if low <= usual < high else units
    if role == "count":
        return units[:1] if float(np.ptp(size)) < MAX_PLAIN_AH else (units[1], units[0])
    if role == "voltage":
        if usual >= _MILLIVOLTS_BEGIN:
            return units[1:2]
        return units[:1] if usual < _VOLTS_END else units[:2]
    if usual <= _CELSIUS_END:
        return units[:1]
    return units[1:] if usual > _FAHRENHEIT_BEGIN else units


def _in_cells(table: CellTable, index: int) -> bool:
    """Whether the unit stands behind the numbers."""
    cells = [row[index] for row in table.head if row[index]]
    return bool(cells) and any(parse_number(cell) is None for cell in cells[:5])


def _times(table: CellTable, index: int) -> tuple[ColumnUse, ...]:
    """Units in which the record is as long as a test, and its steps as a logger makes them."""
    cells = [row[index] for row in table.head]
    numbers = [value_of(cell, ColumnUse.ELAPSED_S, table.sure_mark) for cell in cells]
    last = value_of(table.last_row()[index], ColumnUse.ELAPSED_S, table.sure_mark)
    known = np.array([number for number in numbers if number is not None])
    if known.size < 2 or last is None:
        return UNITS_OF_ROLE["time"]
    span, steps = last - known[0], np.diff(known)
    step = float(np.median(steps))
    regular = float(np.mean(np.abs(steps - step) <= 0.02 * abs(step))) >= 0.9
    machine = known.size >= _MACHINE_ROWS and _jitters(cells, steps, step)
    seconds = regular and any(abs(step - usual) <= 0.02 * usual for usual in _STEPS_OF_SECONDS)
    shortest = _SECONDS[0] if known.size >= _MACHINE_ROWS else _MIN_BY_HAND_S
    if machine or seconds or (regular and step % _SECONDS_A_MINUTE == 0):
        shortest = _MIN_BY_MACHINE_S
    spans = ((shortest, _SECONDS[1]), _MINUTES, _HOURS)
    fitting = [
        use
        for use, (low, high) in zip(UNITS_OF_ROLE["time"], spans, strict=True)
        if low <= span <= high and not (machine and step * _LENGTHS[use] > _MAX_MACHINE_STEP_S)
    ]
    if seconds and ColumnUse.ELAPSED_S in fitting and ColumnUse.ELAPSED_MIN in fitting:
        fitting.remove(ColumnUse.ELAPSED_MIN)
    return tuple(fitting) or UNITS_OF_ROLE["time"]


def _jitters(cells: Sequence[str], steps: Floats, step: float) -> bool:
    """Whether moments are written to hundredths and are nevertheless uneven: no hand does that."""
    decimals = int(
        np.median(
            [len(re.split("[.,]", cell)[-1]) if re.search("[.,]", cell) else 0 for cell in cells]
        )
    )
    least = max(2 * 10.0**-decimals, 0.001 * abs(step))
    return decimals >= 2 and float(np.mean(np.abs(steps - step) > least)) > _JITTERING_SHARE


def looks_like_volts(values: Floats) -> bool:
    """Whether a column may be a battery's terminals over one discharge: most stay close by."""
    if values.size < 2:
        return False
    low, usual, high = (float(value) for value in np.percentile(values, (10, 50, 95)))
    return 0 < high <= 1.5 * low and any(a <= usual <= b for a, b in _TERMINALS)


def falls(values: Floats) -> bool:
    """Whether a column goes down under load, from its first third to its last, as volts do."""
    loaded = values[np.abs(values) > 0.5 * np.abs(values).max()]
    if not loaded.size:
        # Zeros all the way down.
        return False
    third = max(1, loaded.size // 3)
    return bool(np.mean(loaded[-third:]) < 0.99 * np.mean(loaded[:third]))


def fitting_times(table: CellTable, index: int, use: ColumnUse) -> tuple[ColumnUse, ...]:
    """A column of times or dates is known better from what stands in it."""
    cells = [row[index] for row in table.head if not is_missing(row[index])]
    cell = cells[0] if cells else ""
    if is_time(cell):
        return (ColumnUse.CLOCK,)
    if is_date(cell) or (use is ColumnUse.DATE and is_bare_date(cell)):
        return (ColumnUse.DATE,)
    if use is ColumnUse.CLOCK and (":" in cell or _of_digits(table, index, cells)):
        return (ColumnUse.CLOCK,)
    whole = re.match(r"\d+", cell)
    digits = len(whole[0]) if whole else 0
    if digits >= 12:
        return (ColumnUse.EPOCH_MS,)
    if digits >= 9:
        return (ColumnUse.EPOCH_S,)
    if use not in (ColumnUse.CLOCK, ColumnUse.DATE):
        return (use,)
    return _number_without_unit(table, index)


def _of_digits(table: CellTable, index: int, cells: Sequence[str]) -> bool:
    """Whether all cells are times of day such as 080000: with a date beside, or zeros in front."""
    if not all(clock_of_digits(cell) for cell in cells):
        return False
    beside = (cell for i, cell in enumerate(table.head[0]) if i != index)
    dated = any(is_date(cell) or is_bare_date(cell) for cell in beside)
    return dated or any(cell.startswith("0") for cell in cells)


def _number_without_unit(table: CellTable, index: int) -> tuple[ColumnUse, ...]:
    """Numbers of a time without a unit: whatever a record of a test fits.

    Numbers with a fraction that are days of this century are a spreadsheet's dates. A column of
    words is none.
    """
    first, last = (parse_number(row[index]) for row in (table.head[0], table.last_row()))
    if first is None or last is None:
        known = value_of(table.head[0][index], ColumnUse.ELAPSED_S) is not None
        return (ColumnUse.ELAPSED_S,) if known else (ColumnUse.IGNORE,)
    if _SERIAL_DAYS[0] <= first < _SERIAL_DAYS[1] and last - first < _MAX_DAYS and first % 1:
        return (ColumnUse.SERIAL_DAYS,)
    return fitting_units(table, index, "time")


def alike(one: Floats, other: Floats) -> bool:
    """Whether two columns are the same quantity, whatever its sign."""
    if one.size != other.size or not one.size:
        return False
    apart = float(np.mean(np.abs(np.abs(one) - np.abs(other))))
    return apart <= _SAME_SHARE * float(np.mean(np.abs(one)))


def of_clock(table: CellTable, index: int) -> bool:
    """Whether a column holds clock times alone."""
    cells = [row[index] for row in table.head if not is_missing(row[index])]
    return bool(cells) and all(is_time(cell) for cell in cells)
