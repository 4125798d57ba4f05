"""The fast way through long logs of plain numbers."""

import io
import re

import numpy as np
from numpy.typing import NDArray

from app.domain.column import ColumnUse
from app.ingest.columns import CONVERT
from app.ingest.ranges import RANGES
from app.ingest.table import Table

Floats = NDArray[np.float64]
FEWEST_ROWS = 5_000
_EPOCHS = (ColumnUse.EPOCH_S, ColumnUse.EPOCH_MS)
_BLANK_LINE = re.compile(r"\n[ \t\r]*\n")


def read_bulk(table: Table, uses: tuple[ColumnUse, ...]) -> dict[str, Floats] | None:
    """The used columns by role, converted to the units of the readings.

    Only for a long table in which every used cell is a plain number, within its range, with times
    that rise. Anything else gives None: the careful way then reads it, and can say which row is
    wrong and why.
    """
    at = {use.role: i for i, use in enumerate(uses) if use is not ColumnUse.IGNORE}
    plain = table.delimiter in (",", ";", "\t", "|") and not any(
        use in (ColumnUse.CLOCK, ColumnUse.DATE, ColumnUse.CHANNEL) for use in uses
    )
    body = table.text[table.start :]
    rows = body.count("\n") + (not body.endswith("\n"))
    if not plain or rows < FEWEST_ROWS or '"' in body or _BLANK_LINE.search(body):
        return None
    if body.count(table.delimiter) != rows * (table.width - 1):
        return None
    if table.decimal == ",":
        body = body.replace(",", ".")
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
    made = {}
    for (role, index), column in zip(at.items(), values, strict=True):
        convert, allowed = CONVERT.get(uses[index]), RANGES[role]
        converted = column if convert is None else convert(column)
        low, high = float(np.min(converted)), float(np.max(converted))
        within = uses[index] in _EPOCHS or (allowed.holds(low) and allowed.holds(high))
        if not within or not np.isfinite(low + high):
            return None
        made[role] = converted
    return made if np.all(np.diff(made["time"]) > 0) else None
