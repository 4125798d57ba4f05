"""Where the table of readings stands on a sheet: below words, above totals and remarks."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from app.ingest.containers.cell_values import Kind, SheetRow, kinds_of

# So many filled rows may stand above a table.
_SEARCHED = 1_000
# So many rows of a table tell what its columns hold.
_TELLING = 50
_MOST = 0.8


@dataclass(frozen=True)
class TablePlace:
    """Positions among the filled rows: heading is the first of the table, end is behind its last.

    columns are those in which something stands; below is how many filled rows come after.
    """

    heading: int
    end: int
    columns: tuple[int, ...]
    below: int


def find_table(rows: Sequence[SheetRow]) -> TablePlace | None:
    """The table among the filled rows of a sheet; None where no row holds two values.

    It is the longest run of rows with values below a row of headings.
    """
    kinds = [kinds_of(row) for row in rows[:_SEARCHED]]
    first = next((i for i, row in enumerate(kinds) if _is_data(row)), None)
    if first is None:
        return None
    heading = _heading(rows, kinds)
    start = next(i for i in range(heading, len(kinds)) if _is_data(kinds[i]))
    end = _end(rows, start)
    width = max(len(row) for row in rows[heading:end])
    filled = [False] * width
    for row in rows[heading:end]:
        for index, cell in enumerate(row):
            if cell != "":
                filled[index] = True
    columns = tuple(i for i, one in enumerate(filled) if one)
    return TablePlace(heading, end, columns, len(rows) - end)


def _is_data(kinds: Sequence[Kind]) -> bool:
    return sum(kind.is_value for kind in kinds) >= 2


def _is_heading(kinds: Sequence[Kind]) -> bool:
    return sum(kind is Kind.WORDS for kind in kinds) >= 2 and not _is_data(kinds)


def _heading(rows: Sequence[SheetRow], kinds: Sequence[Sequence[Kind]]) -> int:
    """The row of headings, with the one above where units alone stand in it."""
    found: list[tuple[int, int]] = []
    for i, row in enumerate(kinds[:-1]):
        if _is_heading(row) and _is_data(kinds[i + 1]):
            run = next((k for k in range(i + 1, len(kinds)) if not _is_data(kinds[k])), len(kinds))
            found.append((run - i - 1, i))
    if not found:
        # Without headings: the longest run of values.
        return _longest_run(kinds)
    longest = max(found, key=lambda one: (one[0], -one[1]))[1]
    # A logger that was started anew writes its headings again: the table begins with the first.
    heading = next(i for _, i in found if rows[i] == rows[longest])
    above = kinds[heading - 1] if heading else ()
    if heading and _is_heading(above) and _covers(above, kinds[heading]):
        return heading - 1
    return heading


def _covers(above: Sequence[Kind], below: Sequence[Kind]) -> bool:
    """Whether something stands above each cell of a row, as names stand above their units."""
    padded = (*above, *[Kind.NOTHING] * (len(below) - len(above)))
    return all(a is Kind.WORDS for a, b in zip(padded, below, strict=False) if b is Kind.WORDS)


def _longest_run(kinds: Sequence[Sequence[Kind]]) -> int:
    best, length, begin = 0, 0, 0
    for i, row in enumerate([*kinds, ()]):
        if _is_data(row):
            continue
        if i - begin > length:
            best, length = begin, i - begin
        begin = i + 1
    return best


def _end(rows: Sequence[SheetRow], start: int) -> int:
    """Behind the last row that is like the first ones; totals and remarks stand below it."""
    telling = [kinds_of(row) for row in rows[start : start + _TELLING]]
    telling = [row for row in telling if _is_data(row)]
    usual: dict[int, Kind] = {}
    for index in range(max(map(len, telling))):
        kind, count = Counter(
            row[index] if index < len(row) else Kind.NOTHING for row in telling
        ).most_common(1)[0]
        if kind.is_value and count >= _MOST * len(telling):
            usual[index] = kind
    if not usual:
        return len(rows)
    first = min(usual)
    for end in range(len(rows), start, -1):
        kinds = kinds_of(rows[end - 1])
        alike = first < len(kinds) and _alike(kinds[first], usual[first])
        if alike and sum(kinds[i].is_value for i in usual if i < len(kinds)) >= min(2, len(usual)):
            return end
    return len(rows)


def _alike(kind: Kind, usual: Kind) -> bool:
    dated = (Kind.DAY, Kind.MOMENT)
    return (
        kind is usual
        or (kind in dated and usual in dated)
        or (Kind.WRITTEN in (kind, usual) and kind.is_value)
    )
