"""A table as a file that a spreadsheet program opens without taking text for a formula."""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date, datetime

from starlette.responses import Response

# OWASP, "CSV Injection": cells that begin so may be run as formulas; a single quote in front of
# them makes them text. The line feed is on that list as well, and signs of double width are taken
# for the plain ones where such are typed (from memory).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
# Spreadsheet programs take a file without this mark for their own encoding (common practice).
_MARK = "\ufeff"
Cell = str | float | int | bool | date | datetime | None


def spreadsheet_response(
    name: str, header: Sequence[str], rows: Iterable[Sequence[Cell]]
) -> Response:
    """The table as a download, name without its ending."""
    text = spreadsheet_text(header, rows)
    return Response(text, media_type="text/csv", headers=as_download(f"{name}.csv"))


def spreadsheet_text(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """UTF-8 with its mark, RFC 4180; numbers stay numbers, texts that look like formulas do not."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\r\n")
    # Names stand in headings, too.
    writer.writerow([_shown(cell) for cell in header])
    writer.writerows([_shown(cell) for cell in row] for row in rows)
    return _MARK + file.getvalue()


def as_download(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}


def _shown(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return f"'{cell}" if cell.startswith(_FORMULA) else cell
    if isinstance(cell, float):
        # A number of numpy is a float whose own repr names its type.
        return "" if cell != cell else repr(float(cell))
    if isinstance(cell, date):
        return cell.isoformat()
    return str(cell)
