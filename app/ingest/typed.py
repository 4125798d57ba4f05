"""Readings typed row by row."""

from collections.abc import Sequence

from app.domain.column import TYPED_COLUMNS, USUAL_ORDER, ColumnUse
from app.domain.errors import Problem, Refused, shorten
from app.domain.message import say
from app.domain.noted import noted
from app.domain.quantity import READING_ELAPSED
from app.domain.unit import as_clock_span, span_s, split_unit
from app.ingest.assumptions import cell_said
from app.ingest.cells import Imported, read_cells
from app.ingest.clock import time_of_day
from app.ingest.numbers import two_readings, value_of
from app.ingest.ranges import RANGES
from app.ingest.table import typed_table

_HEADINGS = ("time", "A", "V", "°C", "gauge %")
_TIME_ALLOWED = noted("a time such as 14:30, 2:30, 2h30 or 150 min")


def read_typed(rows: Sequence[Sequence[str]]) -> Imported:
    """Read rows of time, A, V, °C, gauge %; empty rows are passed over.

    Times are clock times or spans such as 14:30, 2:30, 2h30 or 150 min. Raises Refused
    naming every wrong cell; the field of a problem is the column and the row, as in current_3 for
    the fourth row.
    """
    filled = [(n, tuple(cell.strip() for cell in row)) for n, row in enumerate(rows, start=1)]
    filled = [(n, row) for n, row in filled if any(row)]
    if not filled:
        raise Refused.because(
            say("readings"), "", say("at least two rows with time and current"), "readings"
        )
    problems = [problem for n, row in filled for problem in _problems(n, row)]
    if problems:
        raise Refused(problems)
    read = [(n, (_with_colons(row[0]), *row[1:])) for n, row in filled]
    return read_cells(typed_table(_HEADINGS, read), USUAL_ORDER, [], place="row")


def _with_colons(cell: str) -> str:
    """A span in words, such as 2h30 or 150 min, with colons; anything else as it is."""
    seconds = span_s(cell)
    if seconds is None and split_unit(cell)[1] is not None:
        seconds = value_of(cell, ColumnUse.ELAPSED_S)
    if seconds is None or not READING_ELAPSED.holds(seconds):
        return cell
    return as_clock_span(seconds)


def _problems(number: int, row: tuple[str, ...]) -> list[Problem]:
    found = []
    for name, use, cell in zip(TYPED_COLUMNS, USUAL_ORDER, row, strict=True):
        where, field = cell_said("row", number, name), f"{name}_{number - 1}"
        if name == "time":
            if time_of_day(_with_colons(cell)) is None:
                found.append(Problem(where, shorten(cell), say(_TIME_ALLOWED), field))
            continue
        if not cell and name != "current":
            continue
        if either := two_readings(cell, use):
            found.append(Problem(where, shorten(cell), either, field))
            continue
        value = value_of(cell, use)
        if value is None or not RANGES[name].holds(value):
            found.append(Problem(where, shorten(cell), RANGES[name].expected(cell), field))
    return found
