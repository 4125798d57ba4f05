"""Readings typed row by row."""

from collections.abc import Sequence

from app.domain.column import TYPED_COLUMNS, ColumnUse
from app.domain.errors import Problem, Refused, shorten
from app.ingest.cells import Imported, read_cells, value_of
from app.ingest.clock import time_of_day
from app.ingest.ranges import RANGES
from app.ingest.table import typed_table

_USES = (
    ColumnUse.CLOCK,
    ColumnUse.CURRENT_A,
    ColumnUse.VOLTAGE_V,
    ColumnUse.TEMPERATURE_C,
    ColumnUse.GAUGE_PERCENT,
)
_HEADINGS = ("time", "A", "V", "°C", "gauge %")
_TIME_ALLOWED = "a time such as 14:30 or 2:30"


def read_typed(rows: Sequence[Sequence[str]]) -> Imported:
    """Read rows of time, A, V, °C, gauge %; empty rows are passed over.

    Times are clock times or spans such as 14:30 or 2:30. Raises Refused naming every wrong cell;
    the field of a problem is the column and the row, as in current_3 for the fourth row.
    """
    filled = [(n, tuple(cell.strip() for cell in row)) for n, row in enumerate(rows, start=1)]
    filled = [(n, row) for n, row in filled if any(row)]
    if not filled:
        raise Refused.because("readings", "", "at least two rows with time and current", "readings")
    problems = [problem for n, row in filled for problem in _problems(n, row)]
    if problems:
        raise Refused(problems)
    return read_cells(typed_table(_HEADINGS, filled), _USES, [], place="row")


def _problems(number: int, row: tuple[str, ...]) -> list[Problem]:
    found = []
    for name, use, cell in zip(TYPED_COLUMNS, _USES, row, strict=True):
        where, field = f"row {number}, {name}", f"{name}_{number - 1}"
        if name == "time":
            if time_of_day(cell) is None:
                found.append(Problem(where, shorten(cell), _TIME_ALLOWED, field))
            continue
        if not cell and name != "current":
            continue
        value = value_of(cell, use)
        if value is None or not RANGES[name].holds(value):
            found.append(Problem(where, shorten(cell), RANGES[name].allowed, field))
    return found
