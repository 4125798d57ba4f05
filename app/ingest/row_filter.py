"""Which rows of a file are readings; what is left out is said."""

from app.domain.i18n.message import say_plural
from app.ingest.derived import carrier
from app.ingest.dialect import CellTable, Row, TypedTable, is_value
from app.ingest.notes import twice_said

NOTHING = {"", "-", "--", "---", "----", "n/a", "na", "ol"}


def usable(
    table: CellTable | TypedTable, at: dict[str, int], said: list[str]
) -> tuple[list[Row], list[int]]:
    """Rows that carry a time and a current; what is left out is said."""
    rows: list[Row] = []
    lines: list[int] = []
    left_out: list[int] = []
    time = at["time"]
    current = at[carrier(at)]
    for line, row in table.rows():
        if row[current].casefold() in NOTHING or row[time].casefold() in NOTHING:
            left_out.append(line)
        else:
            rows.append(row)
            lines.append(line)
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
        said.append(_left_out_said(left_out))
    return rows, lines


def _left_out_said(lines: list[int]) -> str:
    which = ", ".join(map(str, lines[:5])) + (" …" if len(lines) > 5 else "")
    return say_plural(
        "1 row without time or current was left out (line {lines}).",
        "{count} rows without time or current were left out (line {lines}).",
        len(lines),
        lines=which,
    )


def footer_rows(rows: list[Row], time: int, mark: str) -> int:
    """How many rows of words stand at the end (totals and the like)."""
    count = 0
    while count < len(rows) and not is_value(rows[-1 - count][time], mark):
        count += 1
    # Words all the way up are no footer: the column is refused by its first row.
    return count if count < len(rows) else 0
