"""Whether what a battery's last file of this kind was taken for still fits."""

from collections.abc import Sequence

import numpy as np

from app.domain.errors import InvalidInput
from app.domain.units.column import ColumnUse
from app.ingest.column_inference import fitting_uses
from app.ingest.headings import PLAIN, names_unit, use_of_heading
from app.ingest.magnitudes import UNITS_OF_ROLE, numbers_of
from app.ingest.opened_file import Opened
from app.ingest.reader import read_opened

# Loads of a test in A: what lies outside was in another unit (common practice).
_LOADS_A = (0.2, 2000.0)


def still_fits(opened: Opened, uses: Sequence[ColumnUse], channel: str | None) -> bool:
    """Whether these uses read the file, and the values of no column speak against its unit."""
    table = opened.table
    if len(uses) != table.width:
        return False
    for index, use in enumerate(uses):
        if use not in UNITS_OF_ROLE.get(use.role, ()):
            continue
        named = use_of_heading(table.header[index])
        if named.role == use.role and names_unit(table.header[index], named):
            # The heading is the same as last time, so is its unit.
            continue
        if use not in fitting_uses(table, index, PLAIN[use.role]):
            return False
        if use.role == "current" and not _is_load(opened, index, use):
            return False
    try:
        read_opened(opened, uses, channel)
    except InvalidInput:
        return False
    return True


def _is_load(opened: Opened, index: int, use: ColumnUse) -> bool:
    size = np.abs(numbers_of(opened.table, index, use))
    largest = float(size.max()) if size.size else 0.0
    return largest == 0.0 or _LOADS_A[0] <= largest <= _LOADS_A[1]
