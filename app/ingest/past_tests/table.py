"""Heading and rows of a table of past tests, from a file or from pasted text."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.message import Message, joined, say, say_plural, transformed
from app.domain.past_tests.columns import PastColumn
from app.domain.units.column import DELIMITERS, CsvDialect
from app.ingest.containers.contents import Content, Part, parts_of
from app.ingest.containers.sheet_table import SheetTable
from app.ingest.dialect import FOUND, HEAD_LINES, MAX_COLUMNS, Row, layout_of, split_lines
from app.ingest.opened_file import undecided_of
from app.ingest.past_tests.amounts import unit_in
from app.ingest.past_tests.days import written_day
from app.ingest.past_tests.headings import Aside, column_of_heading
from app.ingest.past_tests.notebook_lines import (
    EXAMPLE,
    is_noted,
    no_capacity,
    notebook_rows,
    odd_lines,
)
from app.ingest.text import check_length, decode
from app.ingest.wording.cells import is_number, is_unit
from app.ingest.wording.comments import without_remarks
from app.ingest.wording.power_cut import without_zeros

# Nobody tests a battery so often; a table that is longer is a log, or that of many batteries.
MAX_PAST_ROWS = 500
# The tests of a club's batteries, one of which is chosen.
MAX_TABLE_ROWS = 20_000
# So far down the heading is looked for.
_SEARCHED = 200
# What stands between cells wherever most lines hold it; a comma may be a decimal mark as well.
_PLAIN_DELIMITERS = ("\t", ";", "|")
_MANY = 0.4
_SAMPLE_ROWS = 5
_NOTHING = (PastColumn.IGNORE, PastColumn.NOTES)


@dataclass(frozen=True)
class OpenedPastTests:
    """The cells of a table. rows have their line in the file, or their row on the sheet.

    headed says that header stands in the file; cells is whether a spreadsheet parted them, in
    which case a decimal mark is no question. parts are the sheets or packed files of which any may
    be meant, part the one that was read.
    """

    header: Row
    rows: tuple[tuple[int, Row], ...]
    headed: bool
    said: tuple[str, ...]
    parts: tuple[str, ...] = ()
    part: str = ""
    shares: tuple[str, ...] = ()

    @property
    def sample(self) -> tuple[Row, ...]:
        return tuple(row for _, row in self.rows[:_SAMPLE_ROWS])

    def column(self, index: int) -> list[str]:
        """The filled cells of a column."""
        return [row[index] for _, row in self.rows if row[index]]


def open_past_tests(
    data: bytes, layout: CsvDialect = FOUND, part: str | None = None
) -> OpenedPastTests:
    """Find heading and rows. Raises InvalidInput where there is no table.

    Of several sheets or packed files part is read, else the first with a table of past tests.
    """
    check_length(data)
    parts = parts_of(data)
    if not parts:
        return _opened(data, "", layout)
    meant = _that_may_be_meant(parts) if len(parts) > 1 else list(parts)
    chosen = next((one for one in parts if one.name == part), meant[0])
    opened = _opened(chosen.read(), chosen.name, layout)
    return OpenedPastTests(
        **opened.__dict__ | {"parts": tuple(one.name for one in meant), "part": chosen.name}
    )


def undecided_sheet(opened: OpenedPastTests, part: str | None) -> tuple[FieldError, ...]:
    """The question which sheet or packed file is meant, until it is answered."""
    return undecided_of(opened.parts, opened.part, part)


def _that_may_be_meant(parts: Sequence[Part]) -> list[Part]:
    """Those with a day and an amount among their columns, else all that hold a table."""
    tables, found = [], []
    for one in parts:
        try:
            opened = _opened(one.head, one.name, FOUND)
        except InvalidInput:
            continue
        tables.append(one)
        roles = {column_of_heading(name) for name in opened.header}
        amounts = {one for one in roles if isinstance(one, PastColumn) and one.role == "amount"}
        if PastColumn.DAY in roles and amounts:
            found.append(one)
    chosen = found or tables
    if not chosen:
        names = transformed(joined(", ", (one.name for one in parts)), lambda s: truncate(s, 120))
        raise _none_found(names)
    return [one for one in chosen if not one.hidden] or chosen


def _opened(content: Content, name: str, layout: CsvDialect) -> OpenedPastTests:
    if isinstance(content, SheetTable):
        return _of_sheet(content, name)
    text, _ = without_remarks(decode(without_zeros(content)[0])[0])
    lines = text.splitlines()
    noted = notebook_rows(lines[:HEAD_LINES]) and notebook_rows(lines)
    if noted and len(noted) <= MAX_TABLE_ROWS and not layout.delimiter:
        return _notebook(noted)
    mark = layout.delimiter or _delimiter(lines)
    odd = odd_lines(lines[:HEAD_LINES])
    if odd is not None and mark not in _PLAIN_DELIMITERS and not _heads(lines):
        raise odd
    said = [say("Cells are separated by {delimiters}.", delimiters=say(DELIMITERS[mark]))]
    if name:
        said.insert(0, say("“{name}” was unpacked and read.", name=name))
    try:
        return _table(list(enumerate(split_lines(lines, mark), start=1)), said)
    except InvalidInput:
        if odd is None:
            raise
        raise odd from None


def _notebook(rows: list[tuple[int, Row]]) -> OpenedPastTests:
    """Lines without headings, in the columns that some line fills."""
    names = (say("Date"), "Ah", say("Why it ended"), say("Charge before test"), say("Notes"))
    filled = [i for i in range(len(names)) if any(row[i] for _, row in rows)]
    header = tuple(names[i] for i in filled)
    cells = tuple((number, tuple(row[i] for i in filled)) for number, row in rows)
    said = say(
        "No headings: each line was read as day, amp-hours, the reason it ended, the charge and a "
        "note."
    )
    return OpenedPastTests(header, cells, True, (said,))


def _heads(lines: Sequence[str]) -> bool:
    """Whether the first filled line names the column of days."""
    first = next((line for line in lines if line.strip()), "")
    names = re.split(r"[\s,;|]+", first)
    return PastColumn.DAY in map(column_of_heading, names) and not is_noted(first.strip())


def _delimiter(lines: list[str]) -> str:
    """What stands between the cells: a table may hold more words than the numbers that tell it."""
    filled = [line for line in lines[:HEAD_LINES] if line.strip()]
    for mark in _PLAIN_DELIMITERS:
        if sum(mark in line for line in filled) >= _MANY * len(filled):
            return mark
    mark, _ = layout_of(filled)
    held = sum("," in line for line in filled) >= _MANY * len(filled)
    told = mark != " " and any(mark in line for line in filled)
    return "," if held and not told else mark


def _of_sheet(sheet: SheetTable, name: str) -> OpenedPastTests:
    if not sheet.text:
        raise _none_found(sheet.words)
    row = sheet.first_row
    said = [say("Sheet “{name}” was read, from row {number} on.", name=name, number=row)]
    if sheet.below:
        said.append(
            say_plural(
                "1 row below the table was left out (row {number}).",
                "{count} rows below the table were left out, from row {number} on.",
                sheet.below,
                number=sheet.below_row,
            )
        )
    rows = enumerate(split_lines(sheet.text.splitlines(), "\t"), start=row)
    opened = _table(list(rows), said)
    return OpenedPastTests(**opened.__dict__ | {"shares": sheet.shares})


def _table(lines: list[tuple[int, Row]], said: list[str]) -> OpenedPastTests:
    filled = [(number, row) for number, row in lines if any(row)]
    place = _heading(filled[:_SEARCHED])
    if place is None:
        first = _first_day(filled)
        if first is None:
            shown = next((row[0] for _, row in filled if row[0]), "")
            raise _none_found(shown)
        rows = filled[first:]
        header: Row = ("",) * max(len(row) for _, row in rows)
        said.append(say("No headings: Fadeline recognised the columns by their contents."))
    else:
        header, rows = filled[place][1], filled[place + 1 :]
        if rows and _holds_units(rows[0][1]):
            units = (*rows[0][1], *[""] * len(header))
            header = tuple(
                f"{name} {unit.strip('[]()')}".strip()
                for name, unit in zip(header, units, strict=False)
            )
            rows = rows[1:]
    if len(header) > MAX_COLUMNS or len(rows) > MAX_TABLE_ROWS:
        words = say(
            "This table has {rows} rows and {columns} columns. Fadeline takes at most {most} rows, "
            "with up to {most_columns} columns: send it in parts.",
            rows=len(rows),
            columns=len(header),
            most=MAX_TABLE_ROWS,
            most_columns=MAX_COLUMNS,
        )
        raise InvalidInput.saying(words, "file")
    fitted = tuple((number, _fitted(number, row, header)) for number, row in rows)
    return OpenedPastTests(header, fitted, place is not None, tuple(said))


def too_many_tests(rows: int) -> InvalidInput:
    """The refusal of more tests of one battery than anybody made."""
    words = say(
        "This table has {rows} tests of one battery. Fadeline takes at most {most} at once, one "
        "row each.",
        rows=rows,
        most=MAX_PAST_ROWS,
    )
    return InvalidInput.saying(words, "file")


def _heading(rows: Sequence[tuple[int, Row]]) -> int | None:
    """The line that names the most columns; none of its cells is a value."""
    best, most = None, 0
    for i, (_, row) in enumerate(rows):
        filled = [cell for cell in row if cell]
        if len(filled) < 2 or is_noted(",".join(row)) or any(map(_is_value, filled)):
            continue
        found = {column_of_heading(cell) for cell in filled}
        named = {one for one in found if isinstance(one, Aside) or one not in _NOTHING}
        if len(named) > most:
            best, most = i, len(named)
    return best


def _is_value(cell: str) -> bool:
    written = is_number(cell, ".") or is_number(cell, ",")
    return (written and any(c.isdigit() for c in cell)) or bool(written_day(cell) or unit_in(cell))


def _first_day(rows: Sequence[tuple[int, Row]]) -> int | None:
    """The first row with a day and something beside it."""
    for i, (_, row) in enumerate(rows):
        if sum(map(bool, row)) > 1 and any(one and one.whole for one in map(written_day, row)):
            return i
    return None


def _holds_units(row: Row) -> bool:
    return any(row) and all(is_unit(cell) for cell in row if cell)


def _fitted(number: int, row: Row, header: Row) -> Row:
    """A row as wide as the header; commas of a note that nobody quoted parted it."""
    if len(row) > len(header):
        if column_of_heading(header[-1]) is PastColumn.NOTES:
            note = ", ".join(cell for cell in row[len(header) - 1 :] if cell)
            return (*row[: len(header) - 1], note)
        if any(row[len(header) :]):
            raise InvalidInput.because(
                say("line {number}", number=number),
                say("{count} cells", count=len(row)),
                say(
                    "at most {most}, as many as headings (are there decimal commas in a file with "
                    "commas between the columns?)",
                    most=len(header),
                ),
                "file",
            )
    return (*row, *[""] * len(header))[: len(header)]


def _none_found(shown: str) -> InvalidInput:
    """The refusal of what holds no such table, by its first words or the names of its parts."""
    if "%" in str(shown):
        raise no_capacity(str(shown))
    return InvalidInput.saying(
        say(
            "No table of past tests found (“{shown}”). Give each test a row with its day and the "
            "amp-hours it delivered, for example: {example}.",
            example=EXAMPLE,
            shown=shown if isinstance(shown, Message) else truncate(shown),
        ),
        "file",
    )
