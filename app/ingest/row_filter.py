"""Which rows of a file are readings; what is left out is said."""

from collections.abc import Sequence

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say, say_plural
from app.ingest.derived import carrier
from app.ingest.dialect import CellTable, Row, TypedTable
from app.ingest.notes import cell_said, headings_said, twice_said
from app.ingest.ranges import RANGES
from app.ingest.wording.cells import is_missing, is_value, says_no_value

# A program that says so in more of its rows than this has lost its sensor: that is no gap.
LOST_SHARE = 0.3


def usable(
    table: CellTable | TypedTable, at: dict[str, int], said: list[str]
) -> tuple[list[Row], list[int]]:
    """Rows that carry a time and a current; what is left out is said."""
    rows: list[Row] = []
    lines: list[int] = []
    left_out: list[int] = []
    lost: list[tuple[int, str]] = []
    headings: list[int] = []
    time = at["time"]
    carried = carrier(at)
    current = at[carried]
    for line, row in table.rows():
        if is_missing(row[current]) or is_missing(row[time]):
            left_out.append(line)
            if says_no_value(row[current]):
                lost.append((line, row[current]))
        elif _is_heading(row, table.header, time, current):
            headings.append(line)
        else:
            rows.append(row)
            lines.append(line)
    if lost and len(lost) > LOST_SHARE * (len(rows) + len(left_out)):
        _refuse_lost(lost, carried, len(rows) + len(left_out))
    if headings and table.decimal:
        said.append(headings_said(len(headings), headings[0]))
    twice = [i for i in range(1, len(rows)) if rows[i] == rows[i - 1]]
    if twice and table.decimal:
        said.append(twice_said(len(twice), lines[twice[0]]))
        gone = set(twice)
        rows = [row for i, row in enumerate(rows) if i not in gone]
        lines = [line for i, line in enumerate(lines) if i not in gone]
    footer = footer_rows(rows, time, table.decimal or ".")
    # A footer of words may lack a current and so be left out already.
    if footer:
        said.append(
            say_plural(
                "1 line of words at the end was left out.",
                "{count} lines of words at the end were left out.",
                footer,
            )
        )
        del rows[-footer:], lines[-footer:]
    if left_out:
        said.append(left_out_said(left_out))
    return rows, lines


def _is_heading(row: Row, header: Row, time: int, current: int) -> bool:
    """Whether a row is the heading, or its line of units, once more."""
    cells = (row[time], row[current])
    return not any(cell[0].isdigit() for cell in cells) and all(
        cell.strip("[]()").casefold() in header[index].casefold()
        for index, cell in zip((time, current), cells, strict=True)
    )


def _refuse_lost(lost: list[tuple[int, str]], carried: str, of: int) -> None:
    line, cell = lost[0]
    raise InvalidInput.because(
        cell_said("line", line, carried),
        cell,
        say(
            "{range} in nearly every row; {count} of {total} rows hold none",
            range=RANGES[carried].allowed,
            count=len(lost),
            total=of,
        ),
        "readings",
    )


def left_out_said(lines: Sequence[int]) -> str:
    """Rows without a time or a load, which were left out."""
    which = ", ".join(map(str, lines[:5])) + (" …" if len(lines) > 5 else "")
    return say_plural(
        "1 row without time or current was left out (line {lines}).",
        "{count} rows without time or current were left out (line {lines}).",
        len(lines),
        lines=which,
    )


def two_rows_said(table: CellTable | TypedTable, at: dict[str, int]) -> str:
    """What is needed where fewer rows than two are left, and which empty column took the others.

    A workbook that a program wrote and none computed holds formulas without their results.
    """
    rows = [row for _, row in table.rows()]
    for index in (at[carrier(at)], at["time"]):
        empty = sum(is_missing(row[index]) for row in rows)
        if len(rows) >= 2 and empty >= len(rows) - 1:
            return say(
                "at least two rows of readings, but “{heading}” is empty in {count} of {total} "
                "rows. If formulas stand there: open the workbook in a spreadsheet program, save "
                "it and choose it again",
                heading=table.header[index] or say("column {number}", number=index + 1),
                count=empty,
                total=len(rows),
            )
    return say("at least two rows of readings")


def footer_rows(rows: list[Row], time: int, mark: str) -> int:
    """How many rows of words stand at the end (totals and the like)."""
    count = 0
    while count < len(rows) and not is_value(rows[-1 - count][time], mark):
        count += 1
    # Words all the way up are no footer: the column is refused by its first row.
    return count if count < len(rows) else 0
