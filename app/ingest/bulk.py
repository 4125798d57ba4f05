"""The fast way through long logs of plain numbers."""

import io
import itertools
import re
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from app.domain.column import ColumnUse
from app.ingest.columns import CONVERT
from app.ingest.ranges import RANGES
from app.ingest.table import Table

Floats = NDArray[np.float64]
FEWEST_ROWS = 5_000
BUNCH = 50_000
_EPOCHS = (ColumnUse.EPOCH_S, ColumnUse.EPOCH_MS)
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}[ T]\d{2}:\d{2}(:\d{2}(\.\d{1,3})?)?")
_BLANK_LINE = re.compile(r"\n[ \t\r]*\n")


@dataclass(frozen=True)
class Bulk:
    """Columns by role in the units of the readings; begin is the first time where it is dated."""

    columns: dict[str, Floats]
    begin: datetime | None


def read_bulk(table: Table, uses: tuple[ColumnUse, ...]) -> Bulk | None:
    """The used columns by role, converted to the units of the readings.

    Only for a long table in which every used cell is a plain number (times may be dates with times
    as 2026-03-31 14:30:05), within its range, with times that rise. Anything else gives None: the
    careful way then reads it, and can say which row is wrong and why.
    """
    at = {use.role: i for i, use in enumerate(uses) if use is not ColumnUse.IGNORE}
    plain = table.delimiter in (",", ";", "\t", "|") and not any(
        use in (ColumnUse.DATE, ColumnUse.CHANNEL) for use in uses
    )
    body = table.text[table.start :]
    rows = body.count("\n") + (not body.endswith("\n"))
    if not plain or rows < FEWEST_ROWS or '"' in body or _BLANK_LINE.search(body):
        return None
    if body.count(table.delimiter) != rows * (table.width - 1):
        return None
    if table.decimal == ",":
        body = body.replace(",", ".")
    made: dict[str, Floats] = {}
    begin: datetime | None = None
    if uses[at["time"]] is ColumnUse.CLOCK:
        dated = _dated(table, body, at.pop("time"))
        if dated is None:
            return None
        made["time"], begin = dated
    try:
        values = np.loadtxt(
            io.StringIO(body),
            delimiter=table.delimiter,
            usecols=list(at.values()),
            comments=None,
            unpack=True,
            ndmin=2,
        )
    except ValueError:
        return None
    for (role, index), column in zip(at.items(), values, strict=True):
        convert, allowed = CONVERT.get(uses[index]), RANGES[role]
        converted = column if convert is None else convert(column)
        low, high = float(np.min(converted)), float(np.max(converted))
        within = uses[index] in _EPOCHS or (allowed.holds(low) and allowed.holds(high))
        if not within or not np.isfinite(low + high):
            return None
        made[role] = converted
    return Bulk(made, begin) if np.all(np.diff(made["time"]) > 0) else None


def _dated(table: Table, body: str, index: int) -> tuple[Floats, datetime] | None:
    """Seconds since the first of dates with times, and that first; None in any other form."""
    first = table.head[0][index]
    if not _ISO.fullmatch(first):
        return None
    lines = io.StringIO(body)
    cells = (line.split(table.delimiter)[index].strip() for line in lines)
    parts = []
    try:
        # As text and in bunches: from bytes, numpy 2.4 crashes on a moment that cannot be.
        while bunch := list(itertools.islice(cells, BUNCH)):
            parts.append(np.array(bunch, dtype=np.str_).astype("datetime64[ms]"))
        begin = datetime.fromisoformat(first)
    except (ValueError, IndexError):
        return None
    moments = np.concatenate(parts)
    seconds: Floats = (moments - moments[0]).astype(np.float64) / 1000
    return seconds, begin
