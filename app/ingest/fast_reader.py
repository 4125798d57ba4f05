"""The fast way through long logs: many lines at once, as long as all are written alike."""

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from app.domain.units.column import DATED_NUMBERS, ColumnUse, DayOrder
from app.ingest.bulk_times import MomentReader, Moments
from app.ingest.derived import carrier
from app.ingest.dialect import CellTable
from app.ingest.numbers import CONVERT, SMALL, Floats
from app.ingest.ranges import RANGES

MIN_ROWS = 5_000
BUNCH_CHARACTERS = 1_000_000
_AS_TEXT = ("date", "channel")


@dataclass(frozen=True)
class FastReader:
    """Columns by role in the units of the readings; moments where the times are clock times.

    first_twice is the line of the first row that stands twice, twice how many such rows there are;
    they were left out.
    """

    columns: dict[str, Floats]
    moments: Moments | None
    channels: tuple[str, ...]
    twice: int
    first_twice: int


@dataclass
class _Taken:
    """What was read so far."""

    columns: dict[str, list[Floats]]
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
    if table.decimal == "," and any(use in SMALL for use in uses):
        # 12,850 mV are thousands: cell by cell.
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
    if table.decimal == "," and _with_points(mark).search(bunch):
        # Points between thousands, or a table of two minds.
        return False
    if bunch.count(mark) != len(lines) * (table.width - 1) or "nan" in bunch.casefold():
        return False
    if clock is not None and not clock.take([_time_cell(line.split(mark), at) for line in lines]):
        return False
    if "channel" in at:
        names = [line.split(mark)[at["channel"]].strip() for line in lines]
        taken.channels |= dict.fromkeys(names)
        taken.kept.append(np.array([name == chosen for name in names]))
    body = bunch.replace(",", ".") if table.decimal == "," else bunch
    for empty in (mark + mark, mark + mark, mark + "\n"):
        body = body.replace(empty, f"{mark}nan{empty[1:]}")
    try:
        values = np.loadtxt(
            io.StringIO(body),
            delimiter=mark,
            usecols=list(numbers.values()),
            comments=None,
            unpack=True,
            ndmin=2,
        )
    except ValueError:
        return False
    if values.shape[1] != len(lines):
        return False
    for role, column in zip(numbers, values, strict=True):
        taken.columns[role].append(column)
    return True


def _with_points(mark: str) -> re.Pattern[str]:
    """A number with a point as a whole cell."""
    edge = re.escape(mark)
    return re.compile(rf"(?:^|{edge})[+-]?\d*\.\d+(?=$|{edge})", re.MULTILINE)


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
    carried = carrier([use.role for use in uses])
    columns: dict[str, Floats] = {}
    for role, parts in taken.columns.items():
        column = np.concatenate(parts)
        # The parts are given back while the next column is joined.
        parts.clear()
        if taken.kept:
            column = column[np.concatenate(taken.kept)]
        convert = CONVERT.get(use_of[role])
        column = column if convert is None else convert(column)
        if one_discharge and not _within(role in ("time", carried), use_of[role], column):
            return None
        columns[role] = column
    if moments is not None:
        if taken.kept:
            moments = moments.of(np.concatenate(taken.kept))
        columns["time"] = moments.since_s
    channels = tuple(taken.channels)
    if not one_discharge:
        return FastReader(columns, moments, channels, 0, 0)
    return _without_twins(table, columns, moments, channels)


def _within(needed: bool, use: ColumnUse, column: Floats) -> bool:
    """Whether all values are possible; a row without those that are needed says nothing."""
    if needed and not np.all(np.isfinite(column)):
        return False
    known = column[np.isfinite(column)]
    if np.any(np.isinf(column)):
        return False
    allowed = RANGES[use.role]
    return (
        use in DATED_NUMBERS
        or not known.size
        or (allowed.holds(float(known.min())) and allowed.holds(float(known.max())))
    )


def _without_twins(
    table: CellTable, columns: dict[str, Floats], moments: Moments | None, channels: tuple[str, ...]
) -> FastReader | None:
    """Rows that stand twice are read once; times that do not rise otherwise are for the other way.

    A clock that was set back is mended there, too.
    """
    still = np.diff(columns["time"]) <= 0
    twice = int(np.count_nonzero(still))
    if not twice:
        return FastReader(columns, moments, channels, 0, 0)
    same = np.ones(len(still), bool)
    for column in columns.values():
        same &= (column[1:] == column[:-1]) | (np.isnan(column[1:]) & np.isnan(column[:-1]))
    # Lines can be named only where every line is a row of this channel.
    if np.any(still & ~same) or len(channels) > 1:
        return None
    first = table.first_line + int(np.flatnonzero(still)[0]) + 1
    keep = np.concatenate(([True], ~still))
    kept = {role: column[keep] for role, column in columns.items()}
    return FastReader(kept, moments, channels, twice, first)
