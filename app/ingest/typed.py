"""Readings typed row by row."""

import re
from collections.abc import Sequence

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.quantity import READING_ELAPSED
from app.domain.units.column import TYPED_COLUMNS, TYPED_USES, ColumnUse
from app.domain.units.unit import as_clock_span, parse_duration, split_unit
from app.ingest.dialect import names_columns, typed_table
from app.ingest.headings import use_of_heading
from app.ingest.notes import cell_said
from app.ingest.numbers import two_readings, value_of
from app.ingest.ranges import RANGES
from app.ingest.row_reader import Imported, read_cells
from app.ingest.time_parsing import time_of_day

_HEADINGS = ("time", "A", "V", "°C", "gauge %", "Ah")
_CURRENT, _COUNT = TYPED_COLUMNS.index("current"), TYPED_COLUMNS.index("count")
_TEMPERATURE = TYPED_COLUMNS.index("temperature")
_SAYS_DEGREES = re.compile(r"(?:°|\bdeg|\b)\s*[cf]\b|cels|fahrenh", re.IGNORECASE)
_TIME_ALLOWED = N_("a time such as 14:30, 2:30, 2h30 or 150 min")


def read_typed(rows: Sequence[Sequence[str]], *, fahrenheit: bool = False) -> Imported:
    """Read rows of time, A, V, °C (or °F), gauge %, Ah counted; empty rows are passed over.

    A row of headings that was pasted with the readings says what stands in which column.

    Times are clock times or spans such as 14:30, 2:30, 2h30 or 150 min. Where nothing but a
    counter was read, the current is what it grew by, as in a file. Raises InvalidInput
    naming every wrong cell; the field of a problem is the column and the row, as in current_3 for
    the fourth row.
    """
    missing = ("",) * len(TYPED_COLUMNS)
    cells = [(*(cell.strip() for cell in row), *missing)[: len(missing)] for row in rows]
    filled = [(n, row) for n, row in enumerate(cells, start=1) if any(row)]
    if not filled:
        raise InvalidInput.because(
            say("readings"), "", say("at least two rows with time and current"), "readings"
        )
    uses, places = list(TYPED_USES), tuple(range(len(TYPED_COLUMNS)))
    if fahrenheit:
        uses[_TEMPERATURE] = ColumnUse.TEMPERATURE_F
    if names_columns(filled[0][1], ".") or names_columns(filled[0][1], ","):
        uses, places = _matched(filled[0][1], uses[_TEMPERATURE])
        filled = [(n, tuple(row[i] if i >= 0 else "" for i in places)) for n, row in filled[1:]]
    counter_alone = all(row[_COUNT] and not row[_CURRENT] for _, row in filled)
    needed = "count" if counter_alone else "current"
    problems = [problem for n, row in filled for problem in _problems(n, row, needed, uses, places)]
    if problems:
        raise InvalidInput(problems)
    read = [(n, _plain(row, uses)) for n, row in filled]
    if counter_alone:
        uses[_CURRENT] = ColumnUse.IGNORE
    # By now every time stands there as a clock time or a span with colons, and °F in °C.
    uses[0], uses[_TEMPERATURE] = ColumnUse.CLOCK, ColumnUse.TEMPERATURE_C
    return read_cells(typed_table(_HEADINGS, read), tuple(uses), [], place="row")


def _matched(header: Sequence[str], degrees: ColumnUse) -> tuple[list[ColumnUse], tuple[int, ...]]:
    """What stands in each column of the table by a row of headings that was pasted into it.

    A heading that does not say °C or °F is of the table's degrees. Returns the use of each column
    of the table and the place it was pasted into, below 0 for none. Raises InvalidInput where time
    or load are not among the headings.
    """
    uses, places = list(TYPED_USES), [-1] * len(TYPED_COLUMNS)
    for index, heading in enumerate(header):
        use = use_of_heading(heading)
        if use.role in TYPED_COLUMNS and places[TYPED_COLUMNS.index(use.role)] < 0:
            place = TYPED_COLUMNS.index(use.role)
            uses[place], places[place] = use, index
            if place == _TEMPERATURE and not _SAYS_DEGREES.search(heading):
                uses[place] = degrees
    if places[0] < 0 or (places[_CURRENT] < 0 and places[_COUNT] < 0):
        found = ", ".join(heading for heading in header if heading)
        allowed = say("headings with a time and a current, or the readings without headings")
        raise InvalidInput.because(say("columns"), found, allowed, f"{TYPED_COLUMNS[0]}_0")
    return uses, tuple(places)


def _plain(row: tuple[str, ...], uses: Sequence[ColumnUse]) -> tuple[str, ...]:
    """A row with its time in colons and its temperature in °C."""
    cells = [_with_colons(row[0], uses[0]), *row[1:]]
    if uses[_TEMPERATURE] is ColumnUse.TEMPERATURE_F and cells[_TEMPERATURE]:
        celsius = value_of(cells[_TEMPERATURE], ColumnUse.TEMPERATURE_F)
        # As a form stores it, see `celsius_of`.
        cells[_TEMPERATURE] = "" if celsius is None else f"{round(celsius, 6):.10g}"
    return tuple(cells)


def _with_colons(cell: str, use: ColumnUse) -> str:
    """A span in words, such as 2h30 or 150 min, with colons; anything else as it is.

    A bare number is one of the unit that its heading names.
    """
    seconds = parse_duration(cell)
    if seconds is None and (split_unit(cell)[1] is not None or use is not ColumnUse.CLOCK):
        seconds = value_of(cell, ColumnUse.ELAPSED_S if use is ColumnUse.CLOCK else use)
    if seconds is None or not READING_ELAPSED.holds(seconds):
        return cell
    return as_clock_span(seconds)


def _problems(
    number: int,
    row: tuple[str, ...],
    needed: str,
    uses: Sequence[ColumnUse],
    places: Sequence[int],
) -> list[FieldError]:
    found = []
    for name, use, place, cell in zip(TYPED_COLUMNS, uses, places, row, strict=True):
        where, field = cell_said("row", number, name), f"{TYPED_COLUMNS[place]}_{number - 1}"
        if name == "time":
            if time_of_day(_with_colons(cell, use)) is None:
                found.append(FieldError(where, truncate(cell), say(_TIME_ALLOWED), field))
            continue
        if not cell and name != needed:
            continue
        if either := two_readings(cell, use):
            found.append(FieldError(where, truncate(cell), either, field))
            continue
        value = value_of(cell, use)
        if value is None or not RANGES[name].holds(value):
            in_f = use is ColumnUse.TEMPERATURE_F and split_unit(cell)[1] is None
            asked = RANGES[name].in_fahrenheit if in_f else RANGES[name]
            found.append(FieldError(where, truncate(cell), asked.expected(cell), field))
    return found
