"""The fast way through long logs: many lines at once, as long as all are written alike."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from app.domain.quantity import READING_ELAPSED
from app.domain.units.column import DATED_NUMBERS, ColumnUse, DayOrder
from app.ingest.bulk_times import MomentReader, Moments
from app.ingest.clock.time_order import in_order, mend_clock_change, two_currents
from app.ingest.derived import carrier
from app.ingest.dialect import CellTable
from app.ingest.notes import newest_first_said, shared_said, wild_said
from app.ingest.numbers import CONVERT, SMALL, Floats
from app.ingest.ranges import RANGES
from app.ingest.row_filter import LOST_SHARE
from app.ingest.row_reader import refuse_order
from app.ingest.time_parsing import shown_step_s
from app.ingest.wording.number_table import numbers_of_bunch, with_points, without_words

MIN_ROWS = 5_000
BUNCH_CHARACTERS = 1_000_000
_AS_TEXT = ("date", "channel")


@dataclass(frozen=True)
class FastReader:
    """Columns by role in the units of the readings; moments where the times are clock times.

    first_twice is the line of the first row that stands twice, twice how many such rows there are;
    they were left out, as were the lines of left_out, which hold no value. said is about the order
    of the rows, shared about rows of one moment.
    """

    columns: dict[str, Floats]
    moments: Moments | None
    channels: tuple[str, ...]
    twice: int
    first_twice: int
    left_out: tuple[int, ...] = ()
    said: tuple[str, ...] = ()
    shared: str = ""


@dataclass
class _Taken:
    """What was read so far; lost is how many cells said in a word that they hold no value."""

    columns: dict[str, list[Floats]]
    lost: int = 0
    channels: dict[str, None] = field(default_factory=dict)
    kept: list[NDArray[np.bool_]] = field(default_factory=list)


def read_bulk(
    table: CellTable,
    uses: tuple[ColumnUse, ...],
    channel: str | None = None,
    day_order: DayOrder | None = None,
    *,
    one_discharge: bool = True,
) -> FastReader | None:
    """The used columns by role, converted to the units of the readings.

    Only for a long table in which every used cell is a plain number within its range or a time
    that is written as the first one, with times that rise. Anything else gives None: the careful
    way then reads it, and can say which row is wrong and why. Where it is not one_discharge,
    ranges and the order of the times are the caller's business.
    """
    if table.delimiter not in (",", ";", "\t", "|") or _lines(table) < MIN_ROWS:
        return None
    if table.decimal == table.delimiter or _may_be_thousands(table, uses):
        return None
    at = {use.role: i for i, use in enumerate(uses) if use is not ColumnUse.IGNORE}
    clock = None
    if uses[at["time"]] is ColumnUse.CLOCK:
        clock = MomentReader(_time_cell(table.head[0], at), day_order)
        if not clock.understood:
            return None
    elif "date" in at:
        return None
    chosen = (channel or table.head[0][at["channel"]]) if "channel" in at else None
    numbers = {
        role: i
        for role, i in at.items()
        if role not in _AS_TEXT and not (clock is not None and role == "time")
    }
    taken = _Taken({role: [] for role in numbers})
    for bunch in _bunches(table):
        if not _take(bunch, table, at, numbers, clock, chosen, taken):
            return None
    if chosen is not None and chosen not in taken.channels:
        return None
    return _joined(table, uses, taken, clock, one_discharge)


def _may_be_thousands(table: CellTable, uses: tuple[ColumnUse, ...]) -> bool:
    """Whether a comma may stand between thousands: 12,850 mV always do, mA where nothing tells."""
    if table.decimal != ",":
        return False
    return ColumnUse.VOLTAGE_MV in uses or (not table.sure_mark and any(u in SMALL for u in uses))


def _lines(table: CellTable) -> int:
    return table.text.count("\n", table.start) + 1


def _bunches(table: CellTable) -> Iterator[str]:
    """The rows as text, some megabytes of whole lines at once."""
    start, text = table.start, table.text
    while start < len(text):
        end = text.find("\n", start + BUNCH_CHARACTERS) + 1 or len(text)
        bunch = text[start:end].replace("\r\n", "\n").rstrip("\n")
        if end == len(text):
            # A log that was cut off in the middle of a line: what is missing there is empty.
            last = bunch[bunch.rfind("\n") + 1 :]
            bunch += table.delimiter * max(0, table.width - 1 - last.count(table.delimiter))
        yield bunch + "\n"
        start = end


def _take(
    bunch: str,
    table: CellTable,
    at: dict[str, int],
    numbers: dict[str, int],
    clock: MomentReader | None,
    chosen: str | None,
    taken: _Taken,
) -> bool:
    """Read one bunch; False where it is not written as plainly as it must be."""
    mark = table.delimiter
    if '"' in bunch:
        # A quoted mark would make the count of cells wrong, below.
        bunch = bunch.replace('"', "")
    lines = bunch[:-1].split("\n")
    if table.decimal == "," and with_points(mark).search(bunch):
        # Points between thousands, or a table of two minds.
        return False
    if bunch.count(mark) != len(lines) * (table.width - 1):
        return False
    if clock is not None and not clock.take([_time_cell(line.split(mark), at) for line in lines]):
        return False
    if "channel" in at:
        names = [line.split(mark)[at["channel"]].strip() for line in lines]
        taken.channels |= dict.fromkeys(names)
        taken.kept.append(np.array([name == chosen for name in names]))
    columns = list(numbers.values())
    values = None
    if "nan" not in bunch.casefold():
        values = numbers_of_bunch(bunch, mark, table.decimal, columns)
    if values is None:
        plain, lost = without_words(bunch, mark, columns)
        taken.lost += lost
        values = numbers_of_bunch(plain, mark, table.decimal, columns)
    if values is None or values.shape[1] != len(lines):
        return False
    for role, column in zip(numbers, values, strict=True):
        taken.columns[role].append(column)
    return True


def _time_cell(cells: "list[str] | tuple[str, ...]", at: dict[str, int]) -> str:
    """The time of a row, with the date of a column beside it in front."""
    time = cells[at["time"]].strip()
    return f"{cells[at['date']].strip()} {time}" if "date" in at else time


def _joined(
    table: CellTable,
    uses: tuple[ColumnUse, ...],
    taken: _Taken,
    clock: MomentReader | None,
    one_discharge: bool,
) -> FastReader | None:
    """All bunches as whole columns, checked."""
    moments = None if clock is None else clock.moments()
    if clock is not None and moments is None:
        return None
    use_of = {use.role: use for use in uses}
    needed = {"time", carrier([use.role for use in uses])}
    kept = np.concatenate(taken.kept) if taken.kept else None
    columns: dict[str, Floats] = {}
    for role, parts in taken.columns.items():
        column = np.concatenate(parts)
        # The parts are given back while the next column is joined.
        parts.clear()
        column = column if kept is None else column[kept]
        convert = CONVERT.get(use_of[role])
        columns[role] = column if convert is None else convert(column)
    if moments is not None:
        moments = moments if kept is None else moments.of(kept)
        columns["time"] = moments.since_s
    channels = tuple(taken.channels)
    if not one_discharge:
        return FastReader(columns, moments, channels, 0, 0)
    filled = np.ones(len(columns["time"]), bool)
    for role in needed & columns.keys():
        filled &= ~np.isnan(columns[role])
    gone = np.flatnonzero(~filled)
    if gone.size:
        # Lines can be named only where every line is a row of this channel.
        if len(channels) > 1 or taken.lost > LOST_SHARE * filled.size or gone.size == filled.size:
            return None
        columns = {role: column[filled] for role, column in columns.items()}
        moments = None if moments is None else moments.of(filled)
        columns |= {} if moments is None else {"time": moments.since_s}
    if not all(_within(use_of[role], column) for role, column in columns.items()):
        return None
    lines = table.first_line + np.flatnonzero(filled)
    left_out = tuple(int(line) for line in table.first_line + gone)
    plain = FastReader(columns, moments, channels, 0, 0, left_out)
    return _in_order(table, uses, *_without_twins(plain, lines))


def _within(use: ColumnUse, column: Floats) -> bool:
    """Whether all values are possible; how long a record may be its order tells."""
    if np.any(np.isinf(column)):
        return False
    known = column[np.isfinite(column)]
    allowed = RANGES[use.role]
    if not known.size or use in DATED_NUMBERS or use is ColumnUse.CLOCK:
        return True
    high = allowed.high if use.role != "time" else np.inf
    return allowed.low <= float(known.min()) and float(known.max()) <= high


def _without_twins(
    read: FastReader, lines: NDArray[np.int64]
) -> tuple[FastReader, NDArray[np.int64]]:
    """Rows that stand twice are read once; with the lines of what was kept."""
    same = np.ones(len(lines) - 1, bool)
    for column in read.columns.values():
        same &= (column[1:] == column[:-1]) | (np.isnan(column[1:]) & np.isnan(column[:-1]))
    twice = np.flatnonzero(same)
    if not twice.size:
        return read, lines
    kept = np.concatenate(([True], ~same))
    columns = {role: column[kept] for role, column in read.columns.items()}
    first = int(lines[twice[0] + 1])
    return replace(read, columns=columns, twice=int(twice.size), first_twice=first), lines[kept]


def _in_order(
    table: CellTable,
    uses: tuple[ColumnUse, ...],
    read: FastReader,
    lines: NDArray[np.int64],
) -> FastReader | None:
    """The rows in the order of their times; what cannot be brought so is for the other way.

    A clock that was set back is mended there, too.
    """
    times, moments, columns = read.columns["time"], read.moments, read.columns
    if len(times) < 2:
        return None
    span = float(times[-1] - times[0])
    if np.all(np.diff(times) > 0) and READING_ELAPSED.holds(span):
        return read
    undated = moments is not None and moments.begin is None
    if len(read.channels) > 1 or undated:
        return None
    if moments is not None and mend_clock_change(times, moments.begin)[1] is not None:
        return None
    time = next(i for i, use in enumerate(uses) if use.role == "time")
    shown_s = shown_step_s(table.head, time, uses[time])
    currents = columns[carrier(list(columns))]
    found = in_order(times, READING_ELAPSED.high, shown_s, currents)
    if found is None:
        refuse_order(times, lines, lambda row: table.cells_of(int(lines[row]))[time])
        return None
    load = carrier(list(columns))
    told_apart = load not in ("current", "power") or found.spread is None
    if not told_apart and two_currents(times[found.rows], currents[found.rows]) is not None:
        # Refused the careful way, by both rows.
        return None
    said = []
    if found.wild.size:
        where = [int(line) for line in lines[found.wild]]
        said.append(wild_said(table.cells_of(where[0])[time], where))
    if found.newest_first:
        said.append(newest_first_said())
    columns = {role: column[found.rows] for role, column in columns.items()}
    columns["time"] = found.times + (0.0 if moments is not None else float(times[found.rows[0]]))
    if moments is not None and found.newest_first:
        moments = moments.turned()
    elif moments is not None and found.wild.size:
        kept = np.ones(len(times), bool)
        kept[found.wild] = False
        moments = moments.of(kept)
    shared = ""
    if found.spread is not None:
        first = found.rows[found.spread.first]
        shared = shared_said(found.spread.count, int(lines[first]))
    return replace(read, columns=columns, moments=moments, said=tuple(said), shared=shared)
