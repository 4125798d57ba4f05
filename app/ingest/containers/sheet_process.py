"""Reads a workbook or a page in a process of its own, which a hostile one may fill or kill.

What a small file unpacks to is known only once it is unpacked. Here that has bounds: the process
has so much memory and time, and when it ends for want of either the program goes on.

The file comes on standard input. Out go a line of JSON, which says what is in it, and then the
texts of the sheets that were asked for, one behind the other.
"""

import contextlib
import io
import json
import sys
from typing import Any

import python_calamine
from python_calamine import CalamineWorkbook, SheetTypeEnum, SheetVisibleEnum

from app.ingest.containers.html_tables import longest_table, page_text
from app.ingest.containers.process_words import BOOK, PAGE
from app.ingest.containers.sheet_table import SheetTable, table_of_sheet

MEMORY_BYTES = 2_000_000_000
CPU_S = {BOOK: 120, PAGE: 15}
MAX_SHEETS = 100
# Above so many cells a sheet holds no readings.
MAX_CELLS = 40_000_000
# No spreadsheet has more columns (ECMA-376 part 1, SpreadsheetML: up to XFD; from memory). A cell
# said to stand beyond makes every row as wide.
MAX_COLUMNS = 16_384
# So many rows of a sheet tell what it is.
HEAD_ROWS = 1_200


def bound(cpu_s: int) -> None:
    """Bound memory and time where the system can (there is no such thing on Windows)."""
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource

        # A core of two billion bytes is of no use to anybody.
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))


def described(data: bytes, wanted: str, later_days: int) -> tuple[dict[str, Any], list[bytes]]:
    """What is in a workbook, and the texts: of the wanted sheet whole, of all others the head.

    With an empty wanted the only sheet counts as wanted.
    """
    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    listed: list[dict[str, Any]] = []
    texts: list[bytes] = []
    of_cells = [m for m in book.sheets_metadata if m.typ is SheetTypeEnum.WorkSheet]
    for meta in of_cells[:MAX_SHEETS]:
        whole = meta.name == wanted if wanted else len(of_cells) == 1
        if wanted and not whole:
            continue
        sheet = book.get_sheet_by_name(meta.name)
        about: dict[str, Any] = {"name": meta.name, "whole": whole}
        about["hidden"] = meta.visible is not SheetVisibleEnum.Visible
        cells = sheet.height * sheet.width
        about["too_large"] = cells > MAX_CELLS or sheet.width > MAX_COLUMNS
        table = None if about["too_large"] else _table(sheet, whole, later_days)
        about["table"] = None if table is None else vars(table) | {"text": None}
        texts.append(b"" if table is None else table.text.encode(errors="replace"))
        about["bytes"] = len(texts[-1])
        listed.append(about)
    others = [m.typ.name if hasattr(m.typ, "name") else str(m.typ) for m in book.sheets_metadata]
    return {"sheets": listed, "others": len(others) - len(of_cells)}, texts


def page_described(data: bytes) -> tuple[dict[str, Any], list[bytes]]:
    """The longest table of a page, as if it were the only sheet of a workbook."""
    table = longest_table(page_text(data))
    about = {"name": "", "whole": True, "hidden": False, "too_large": False, "bytes": 0}
    if table is None:
        return {"sheets": [about | {"table": None}], "others": 0}, [b""]
    text = table.text.encode(errors="replace")
    about |= {"table": vars(table) | {"text": None}, "bytes": len(text)}
    return {"sheets": [about], "others": 0}, [text]


def _table(sheet: python_calamine.CalamineSheet, whole: bool, later_days: int) -> SheetTable | None:
    if whole:
        return table_of_sheet(sheet.iter_rows(), 1, later_days)
    # Here the library begins with the first filled row.
    first_row = 1 if sheet.start is None else sheet.start[0] + 1
    return table_of_sheet(sheet.to_python(nrows=HEAD_ROWS), first_row, later_days)


def main() -> None:
    wanted, later_days, kind = sys.argv[1], int(sys.argv[2]), sys.argv[3]
    bound(CPU_S[kind])
    texts: list[bytes] = []
    try:
        data = sys.stdin.buffer.read()
        said, texts = described(data, wanted, later_days) if kind == BOOK else page_described(data)
    except python_calamine.PasswordError:
        said = {"refused": "password"}
    except MemoryError:
        said = {"refused": "memory"}
    # Whatever else goes wrong inside a library that reads what strangers wrote.
    except BaseException as error:
        said = {"refused": "damaged", "why": f"{type(error).__name__}: {error}"[:200]}
    out = sys.stdout.buffer
    out.write(json.dumps(said).encode() + b"\n")
    for text in texts:
        out.write(text)


if __name__ == "__main__":
    main()
