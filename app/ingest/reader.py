"""From a file or a pasted table to the readings of one test."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

from app.domain.column import ColumnUse, FileLayout
from app.domain.errors import Refused
from app.ingest.bulk import read_bulk
from app.ingest.cells import (
    Imported,
    needed_positions,
    read_cells,
    readings_of,
    since_first,
    uses_said,
)
from app.ingest.clock import DAY_S
from app.ingest.columns import guess_uses, left_out_twins
from app.ingest.pick import pick_discharge
from app.ingest.table import FOUND, Table, read_table
from app.ingest.text import decode

SAMPLE_ROWS = 5
_DELIMITER_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", " ": "spaces"}


@dataclass(frozen=True)
class Opened:
    """A file whose cells are known, with a guess of what its columns are."""

    table: Table
    uses: tuple[ColumnUse, ...]
    said: tuple[str, ...]
    layout: FileLayout

    @property
    def sample(self) -> tuple[tuple[str, ...], ...]:
        return self.table.head[:SAMPLE_ROWS]


def open_file(data: bytes, layout: FileLayout = FOUND) -> Opened:
    """Find the cells of a file. Raises Refused where it holds no readings."""
    text, encoding = decode(data)
    table = read_table(text, layout)
    said = [
        f"Text in {encoding.upper()}, cells between {_DELIMITER_NAMES[table.delimiter]}, "
        f"decimal {'comma' if table.decimal == ',' else 'point'}."
    ]
    if not table.headed:
        said.append("No headings: columns were taken in the order time, A, V, °C, gauge %.")
        _refuse_ambiguous(table, layout)
    uses = guess_uses(table)
    said += left_out_twins(table, uses)
    return Opened(table, uses, tuple(said), layout)


def _refuse_ambiguous(table: Table, layout: FileLayout) -> None:
    """8:00,10,5,12,90 may be 10 A and 5 V, or 10.5 A and 12.90 V: nothing in it tells."""
    if table.delimiter != "," or layout.delimiter:
        return
    counts = [[cell for cell in row if cell and ":" not in cell] for row in table.head]
    plain = all(cell.lstrip("+-").isdigit() for cells in counts for cell in cells)
    if plain and all(len(cells) >= 4 and len(cells) % 2 == 0 for cells in counts):
        raise Refused.because(
            "file",
            ",".join(table.head[0]),
            "headings, or semicolons between the columns: the commas may be decimal marks as well",
            "file",
        )


def read_opened(
    opened: Opened, uses: Sequence[ColumnUse] | None = None, channel: str | None = None
) -> Imported:
    """Read an opened file; uses overrules what the columns are taken for.

    Of several batteries or channels in one file one is read: channel, or the first. Raises
    Refused with line, column, value and allowed range.
    """
    table = opened.table
    taken = opened.uses if uses is None else tuple(uses)[: table.width]
    taken += (ColumnUse.IGNORE,) * (table.width - len(taken))
    at = needed_positions(table.header, taken)
    bulk = read_bulk(table, taken)
    if bulk is None:
        return _picked(
            read_cells(
                table, taken, list(opened.said), channel=channel, day_order=opened.layout.day_order
            )
        )
    columns, started_at = dict(bulk.columns), bulk.begin
    if started_at is None:
        columns["time"], started_at = since_first(columns["time"], taken[at["time"]])
    said = (*opened.said, *uses_said(table.header, taken, at))
    return _picked(Imported(readings_of(columns), said, started_at, None))


def _picked(imported: Imported) -> Imported:
    """The discharge of the record alone; its start moves with it."""
    found = pick_discharge(imported.readings)
    if found.said is None:
        return imported
    later = timedelta(seconds=found.after_s)
    clock = imported.first_clock_s
    return Imported(
        found.readings,
        (*imported.assumptions, found.said),
        None if imported.started_at is None else imported.started_at + later,
        None if clock is None else (clock + found.after_s) % DAY_S,
        imported.channels,
    )


def read_file(data: bytes, uses: Sequence[ColumnUse] | None = None) -> Imported:
    """Open and read a file in one go. Raises Refused."""
    return read_opened(open_file(data), uses)
