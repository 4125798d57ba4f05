"""A table of capacities over the years: one row a test, several batteries in one file."""

import csv
import io
from dataclasses import dataclass
from datetime import date

from app.domain.errors import InvalidInput
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import say
from app.domain.quantity import Quantity, parse_number
from app.ingest.text import decode

CAPACITY = Quantity("capacity_ah", "Ah", 0, 100_000, above_low=True)
UNCERTAINTY = Quantity("standard_uncertainty_ah", "Ah", 0, 100_000)
_NEEDED = ("battery", "date", "capacity_ah")
_KINDS = (EvidenceKind.MEASURED, EvidenceKind.AT_LEAST)


@dataclass(frozen=True)
class HistoryRow:
    """One test. standard_uncertainty_ah is 0 where none was given."""

    battery: str
    on_date: date
    capacity_ah: float
    standard_uncertainty_ah: float
    kind: EvidenceKind


def read_history(data: bytes) -> dict[str, list[HistoryRow]]:
    """Rows by battery in the order of the file; columns in any order, told by their headings.

    battery,date,capacity_ah[,standard_uncertainty_ah][,kind]; dates as 2026-03-31. Raises
    InvalidInput with the line, the value and what is allowed.
    """
    text, _ = decode(data)
    first = text.lstrip().split("\n", 1)[0]
    delimiter = ";" if ";" in first else "\t" if "\t" in first else ","
    reader = csv.DictReader(io.StringIO(text.lstrip()), delimiter=delimiter, skipinitialspace=True)
    names = [(name or "").strip().casefold() for name in reader.fieldnames or ()]
    reader.fieldnames = names
    for needed in _NEEDED:
        if needed not in names:
            allowed = say("a column “{heading}”", heading=needed)
            raise InvalidInput.because(say("heading"), ", ".join(names), allowed, "file")
    found: dict[str, list[HistoryRow]] = {}
    try:
        for cells in reader:
            row = _row(cells, reader.line_num)
            found.setdefault(row.battery, []).append(row)
    except csv.Error as error:
        raise InvalidInput.because(
            say("line {number}", number=reader.line_num), str(error), "CSV", "file"
        ) from error
    if not found:
        raise InvalidInput.because(say("file"), say("no rows"), say("at least one test"), "file")
    return found


def _row(cells: dict[str, str | None], line: int) -> HistoryRow:
    if any(extra for extra in cells.get(None) or ()):  # type: ignore[call-overload]
        raise InvalidInput.because(
            say("line {number}", number=line),
            say("more cells than headings"),
            say(
                "as many as headings (are there decimal commas in a file with commas between "
                "the columns?)"
            ),
            "file",
        )
    text = {name: (value or "").strip() for name, value in cells.items() if isinstance(name, str)}
    if not text["battery"]:
        raise InvalidInput.because(_where(line, "battery"), "", say("a name"), "file")
    try:
        on_date = date.fromisoformat(text["date"][:10])
    except ValueError:
        allowed = say("a date such as 2026-03-31")
        raise InvalidInput.because(_where(line, "date"), text["date"], allowed, "file") from None
    if not 1900 <= on_date.year <= 2200:
        raise InvalidInput.because(
            _where(line, "date"), on_date, say("a year from 1900 to 2200"), "file"
        )
    given = text.get("standard_uncertainty_ah", "")
    kind = text.get("kind", "").casefold() or EvidenceKind.MEASURED.value
    if kind not in _KINDS:
        raise InvalidInput.because(
            _where(line, "kind"),
            kind,
            say("{one} or {other}", one=_KINDS[0], other=_KINDS[1]),
            "file",
        )
    return HistoryRow(
        battery=text["battery"],
        on_date=on_date,
        capacity_ah=_number(text["capacity_ah"], CAPACITY, line),
        standard_uncertainty_ah=_number(given, UNCERTAINTY, line) if given else 0.0,
        kind=EvidenceKind(kind),
    )


def _where(line: int, column: str) -> str:
    """A cell by its line and the heading of its column, as the file has it."""
    return say("line {number}, {column}", number=line, column=column)


def _number(text: str, quantity: Quantity, line: int) -> float:
    value = parse_number(text)
    if value is None or not quantity.holds(value):
        where = _where(line, quantity.label)
        raise InvalidInput.because(where, text, quantity.allowed, "file")
    return value
