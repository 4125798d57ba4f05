"""Readings typed row by row."""

from collections.abc import Sequence

from app.domain.column import TYPED_COLUMNS, TYPED_USES, ColumnUse
from app.domain.errors import Problem, Refused, shorten
from app.domain.marks import N_
from app.domain.message import say
from app.domain.quantity import READING_ELAPSED
from app.domain.unit import as_clock_span, span_s, split_unit
from app.ingest.assumptions import cell_said
from app.ingest.cells import Imported, read_cells
from app.ingest.clock import time_of_day
from app.ingest.numbers import two_readings, value_of
from app.ingest.ranges import RANGES
from app.ingest.table import typed_table

_HEADINGS = ("time", "A", "V", "°C", "gauge %", "Ah")
_CURRENT, _COUNT = TYPED_COLUMNS.index("current"), TYPED_COLUMNS.index("count")
_TIME_ALLOWED = N_("a time such as 14:30, 2:30, 2h30 or 150 min")


def read_typed(rows: Sequence[Sequence[str]]) -> Imported:
    """Read rows of time, A, V, °C, gauge %, Ah counted; empty rows are passed over.

    Times are clock times or spans such as 14:30, 2:30, 2h30 or 150 min. Where nothing but a
    counter was read, the current is what it grew by, as in a file. Raises Refused
    naming every wrong cell; the field of a problem is the column and the row, as in current_3 for
    the fourth row.
    """
    missing = ("",) * len(TYPED_COLUMNS)
    cells = [(*(cell.strip() for cell in row), *missing)[: len(missing)] for row in rows]
    filled = [(n, row) for n, row in enumerate(cells, start=1) if any(row)]
    if not filled:
        raise Refused.because(
            say("readings"), "", say("at least two rows with time and current"), "readings"
        )
    counter_alone = all(row[_COUNT] and not row[_CURRENT] for _, row in filled)
    needed = "count" if counter_alone else "current"
    problems = [problem for n, row in filled for problem in _problems(n, row, needed)]
    if problems:
        raise Refused(problems)
    read = [(n, (_with_colons(row[0]), *row[1:])) for n, row in filled]
    uses = list(TYPED_USES)
    if counter_alone:
        uses[_CURRENT] = ColumnUse.IGNORE
    return read_cells(typed_table(_HEADINGS, read), tuple(uses), [], place="row")


def _with_colons(cell: str) -> str:
    """A span in words, such as 2h30 or 150 min, with colons; anything else as it is."""
    seconds = span_s(cell)
    if seconds is None and split_unit(cell)[1] is not None:
        seconds = value_of(cell, ColumnUse.ELAPSED_S)
    if seconds is None or not READING_ELAPSED.holds(seconds):
        return cell
    return as_clock_span(seconds)


def _problems(number: int, row: tuple[str, ...], needed: str) -> list[Problem]:
    found = []
    for name, use, cell in zip(TYPED_COLUMNS, TYPED_USES, row, strict=True):
        where, field = cell_said("row", number, name), f"{name}_{number - 1}"
        if name == "time":
            if time_of_day(_with_colons(cell)) is None:
                found.append(Problem(where, shorten(cell), say(_TIME_ALLOWED), field))
            continue
        if not cell and name != needed:
            continue
        if either := two_readings(cell, use):
            found.append(Problem(where, shorten(cell), either, field))
            continue
        value = value_of(cell, use)
        if value is None or not RANGES[name].holds(value):
            found.append(Problem(where, shorten(cell), RANGES[name].expected(cell), field))
    return found
