"""Opening a file: which of its tables is read, its cells, and what its columns may be."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say, say_plural, transformed
from app.domain.units.column import DELIMITERS, ColumnUse, CsvDialect
from app.ingest.column_inference import ColumnGuess, guess
from app.ingest.containers.contents import Content, Part, parts_of
from app.ingest.containers.sheet_table import SheetTable
from app.ingest.dialect import FOUND, CellTable, read_table
from app.ingest.text import check_length, decode
from app.ingest.wording.power_cut import without_zeros

SAMPLE_ROWS = 5
_LAYOUTS = {
    ",": N_("Text in {encoding}, cells separated by {delimiters}, decimal comma."),
    ".": N_("Text in {encoding}, cells separated by {delimiters}, decimal point."),
}
_TAB = "\t"
# So much of a text in a ZIP tells whether it may be a log.
_HEAD_BYTES = 500_000
_CARRIERS = {"current", "count", "power", "energy"}
LOG = frozenset(_CARRIERS)
TEMPERATURES = frozenset({"temperature"})


@dataclass(frozen=True)
class Opened:
    """A file whose cells are known, with a guess of what its columns are.

    said is about the cells alone; what the columns are is said of those that were read. parts are
    the sheets of a workbook or the files in a ZIP of which any may be meant, part is the one that
    was read; in_cells says that a spreadsheet parted them, so that nothing of it was guessed.
    """

    table: CellTable
    guessed: ColumnGuess
    said: tuple[str, ...]
    layout: CsvDialect
    parts: tuple[str, ...] = ()
    part: str = ""
    in_cells: bool = False

    @property
    def uses(self) -> tuple[ColumnUse, ...]:
        return self.guessed.uses

    @property
    def sample(self) -> tuple[tuple[str, ...], ...]:
        return self.table.head[:SAMPLE_ROWS]


def open_file(
    data: bytes,
    layout: CsvDialect = FOUND,
    part: str | None = None,
    wanted: frozenset[str] = LOG,
) -> Opened:
    """Find the cells of a file. Raises InvalidInput where it holds no readings.

    Of several sheets or packed files part is read, else the first that may be meant: one with a
    time and a column of the wanted roles.
    """
    check_length(data)
    parts = parts_of(data)
    if not parts:
        return _opened(data, "", layout)
    meant = _that_may_be_meant(parts, wanted) if len(parts) > 1 else parts
    chosen = next((one for one in parts if one.name == part), meant[0])
    opened = _opened(chosen.read(), chosen.name, layout)
    names = tuple(one.name for one in meant)
    return replace(opened, parts=names, part=chosen.name)


def undecided_part(opened: Opened, part: str | None) -> tuple[FieldError, ...]:
    """The question which sheet or which packed file is meant, until it is answered."""
    return undecided_of(opened.parts, opened.part, part)


def undecided_of(parts: Sequence[str], opened: str, given: str | None) -> tuple[FieldError, ...]:
    """The question which of several parts is meant, of which opened was read."""
    if opened == given or (len(parts) < 2 and not given):
        return ()
    allowed = say(
        "one of the {count} in the file: {names}",
        count=len(parts),
        names=transformed(joined(", ", parts), lambda text: truncate(text, 200)),
    )
    return (FieldError(say("sheet or packed file"), given or "", allowed, "sheet"),)


def _that_may_be_meant(parts: Sequence[Part], wanted: frozenset[str]) -> list[Part]:
    """Those with a table that looks like a log, hidden ones only where no other does."""
    tables, logs = [], []
    for one in parts:
        head = one.head[:_HEAD_BYTES] if isinstance(one.head, bytes) else one.head
        try:
            opened = _opened(head, one.name, FOUND)
        except InvalidInput:
            continue
        tables.append(one)
        asked = {question.role for question in opened.guessed.questions}
        roles = {use.role for use in opened.uses} | asked
        if "time" in roles and roles & wanted:
            logs.append(one)
    found = logs or tables
    if not found:
        names = truncate(", ".join(one.name for one in parts), 120)
        raise InvalidInput.saying(
            say(
                "No readings were found in {count} sheets or files ({names}). One of them must "
                "have columns with a time and a current, row by row.",
                count=len(parts),
                names=names,
            ),
            "file",
        )
    return [one for one in found if not one.hidden] or found


def _opened(content: Content, name: str, layout: CsvDialect) -> Opened:
    if isinstance(content, SheetTable):
        return _opened_sheet(content, name, layout)
    content, zeros = without_zeros(content)
    text, encoding = decode(content)
    table = read_table(text, layout)
    delimiters = say(DELIMITERS[table.delimiter])
    said = [say(_LAYOUTS[table.decimal], encoding=encoding.upper(), delimiters=delimiters)]
    if zeros:
        said.append(
            say(
                "{count} zero bytes, such as a power cut leaves, were skipped with the rest of "
                "their lines.",
                count=zeros,
            )
        )
    if name:
        said.insert(0, say("“{name}” was unpacked and read.", name=name))
    if not table.headed:
        said.append(_no_headings())
        _refuse_ambiguous(table, layout)
    return Opened(table, guess(table), tuple(said), layout)


def _opened_sheet(sheet: SheetTable, name: str, layout: CsvDialect) -> Opened:
    """A table whose cells a spreadsheet has parted already."""
    if not sheet.text:
        raise InvalidInput.saying(
            say(
                "No readings were found in the sheet that begins with “{start}”. Fadeline reads "
                "rows with a time and a current.",
                start=truncate(sheet.words),
            ),
            "file",
        )
    given = CsvDialect(_TAB, sheet.decimal, layout.day_order)
    table = read_table(sheet.text, given)
    table = replace(table, first_line=table.first_line + sheet.first_row - 1)
    row = sheet.first_row
    said = [
        say("Sheet “{name}” was read, from row {number} on.", name=name, number=row)
        if name
        else say("The longest table of the page was read, from row {number} on.", number=row)
    ]
    if sheet.below:
        said.append(
            say_plural(
                "1 row below the readings was left out (row {number}).",
                "{count} rows below the readings were left out, from row {number} on.",
                sheet.below,
                number=sheet.below_row,
            )
        )
    said += [
        say("“{heading}” holds fractions of 1; Fadeline read them as per cent.", heading=heading)
        for heading in sheet.shares
    ]
    if not table.headed:
        said.append(_no_headings())
    return Opened(table, guess(table), tuple(said), layout, in_cells=True)


def _no_headings() -> str:
    return say("No headings: Fadeline recognised the columns by their position and their values.")


def _refuse_ambiguous(table: CellTable, layout: CsvDialect) -> None:
    """8:00,10,5,12,90 may be 10 A and 5 V, or 10.5 A and 12.90 V: nothing in it tells."""
    if table.delimiter != "," or layout.delimiter:
        return
    counts = [[cell for cell in row if cell and ":" not in cell] for row in table.head]
    plain = all(cell.lstrip("+-").isdigit() for cells in counts for cell in cells)
    if plain and all(len(cells) >= 4 and len(cells) % 2 == 0 for cells in counts):
        raise InvalidInput.because(
            say("file"),
            ",".join(table.head[0]),
            say(
                "headings, or semicolons between the columns: the commas may be decimal marks "
                "as well"
            ),
            "file",
        )
