"""A sheet of a workbook as the text of its table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from app.ingest.containers.cell_text import TableText
from app.ingest.containers.cell_values import RawCell, SheetRow, cleaned
from app.ingest.containers.table_place import find_table

# A table that is wider is none of readings; what follows refuses it by its count of columns.
_MAX_WIDTH = 400
_SHOWN_WORDS = 60


@dataclass(frozen=True)
class SheetTable:
    """The table of one sheet: its text, cells between tabs, and in which row that begins.

    decimal is the mark of its numbers, empty where that is not known. below is how many filled
    rows under the table were left out, and below_row the first of them. shares are the headings of
    columns of shares of 1 that are written in percent. words is what stands on a sheet without a
    table.
    """

    text: str
    first_row: int
    decimal: str
    below: int = 0
    below_row: int = 0
    shares: tuple[str, ...] = ()
    words: str = ""


def table_of_sheet(
    rows: Iterable[Sequence[RawCell]], first_row: int = 1, later_days: int = 0
) -> SheetTable | None:
    """The table on a sheet, empty text where it has none; None for an empty sheet.

    first_row is what the spreadsheet calls the first of the rows.
    """
    filled: list[SheetRow] = []
    numbers: list[int] = []
    for number, cells in enumerate(rows, start=first_row):
        row = tuple(map(cleaned, cells[:_MAX_WIDTH]))
        if any(cell != "" for cell in row):
            filled.append(row)
            numbers.append(number)
    if not filled:
        return None
    place = find_table(filled)
    if place is None:
        words = next((cell for row in filled for cell in row if isinstance(cell, str) and cell), "")
        return SheetTable("", 1, ".", words=words[:_SHOWN_WORDS])
    table = [tuple(row[i] if i < len(row) else "" for i in place.columns) for row in filled]
    table = table[place.heading : place.end]
    numbers = numbers[place.heading :]
    text = TableText(table[0], table[1:], later_days)
    lines: list[str] = []
    for number, row in zip(numbers, table, strict=False):
        # Empty rows stay: a row is called by its number.
        lines += [""] * (number - numbers[0] - len(lines))
        lines.append(text.line(row))
    return SheetTable(
        text="\n".join(lines) + "\n",
        first_row=numbers[0],
        decimal=text.decimal,
        below=place.below,
        below_row=numbers[len(table)] if place.below else 0,
        shares=tuple(text.shares),
    )
