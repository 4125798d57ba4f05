"""What a cell is by the way it is written: a number, a time, a date, a unit, or no value."""

import re

from app.domain.units.unit import unit_named
from app.ingest.wording.moments import canonical

_NUMBER = re.compile(
    r"[+\-−]?(\d+([.,]\d*)?|[.,]\d+)([eE][+\-]?\d+)?"
    r"\s*(?:[°µμ]?[A-Za-z%]{0,3}|[Vv]olts?|[Aa]mps?|[Aa]mperes?|[Ww]atts?)"
)
_TIME = re.compile(
    r"[\d./\-]{0,10}[ T]?\d{1,4}:\d{2}(:\d{2}([.,]\d+)?)?\s*"
    r"(Z|[+\-]\d{2}:?\d{2}|[AaPp]\.?[Mm]\.?)?"
)
_DATE = re.compile(r"\d{1,2}([./\-])\d{1,2}\1\d{2,4}|\d{4}-\d{1,2}-\d{1,2}")
_BARE_DATE = re.compile(r"(?:19|20)\d{2}(?:0[1-9]|1[0-2])(?:0[1-9]|[12]\d|3[01])")
_UNIT = re.compile(
    r"[\[(]?(s|sec|min|h|hrs?|ms|[kmuµ]?A|[kmuµ]?V|Vdc|Adc|°?[CF]|%|[km]?W|m?Ah|k?Wh|hh:mm(:ss)?)[\])]?",
    re.IGNORECASE,
)
# Numbers with the other mark between their thousands, by the mark of their decimals.
_GROUPS = {
    ",": re.compile(r"[+\-−]?[1-9]\d{0,2}(\.\d{3})+(,\d*)?"),
    ".": re.compile(r"[+\-−]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?"),
}
# Thousands set apart by spaces or apostrophes, which never stand for decimals.
_SPACED = re.compile(r"([+\-−]?\s?[1-9]\d{0,2}(?:[\s'’]\d{3})+)(?!\d)([.,]\d+)?(\s*\D*)")
_DASH_SIGNS = "–—‒"
_DASHES = re.compile(r"[-–—−_?*.…]*")
# What stands for a row that was passed over: an overload of a meter, or a remark.
_SKIPPED = re.compile(
    r"n/?a|n\.\s?a\.|k\.\s?a\.|[+-]?(?:[o0]\.?l|\.[o0]l|overload)(?:\s*[mµ]?[av°cf%]{1,2})?",
    re.IGNORECASE,
)
# How programs say that they have no value.
_NO_VALUE = re.compile(
    r"-?nan|null|nil|none|unavailable|unknown|missing|invalid|unbekannt|nicht verfügbar"
    r"|#(?:n/?a|n/v|nv|wert!|value!|div/0!|ref!|bezug!)",
    re.IGNORECASE,
)
# The first letters of all of these: most cells need no closer look.
_MAY_BE_NO_VALUE = frozenset("-–—−_?*.…nNuUmMiIkK#oO0+")


def is_missing(cell: str) -> bool:
    """Whether a cell holds no value: empty, dashes, or a word for it."""
    return is_skipped(cell) or says_no_value(cell)


def is_skipped(cell: str) -> bool:
    """Whether a cell was left empty or holds dashes alone, or the overload of a meter."""
    if not cell:
        return True
    if cell[0] not in _MAY_BE_NO_VALUE:
        return False
    return bool(_DASHES.fullmatch(cell) or _SKIPPED.fullmatch(cell))


def says_no_value(cell: str) -> bool:
    """Whether a cell says in a word that there is no value."""
    return bool(cell) and cell[0] in _MAY_BE_NO_VALUE and bool(_NO_VALUE.fullmatch(cell))


def without_spaces(cell: str) -> str:
    """A number without the spaces or apostrophes between its thousands; else the cell as it is.

    A dash before its digits is its sign.
    """
    if cell.isascii() and " " not in cell and "'" not in cell:
        return cell
    if cell[0] in _DASH_SIGNS and cell[1:2].isdigit():
        cell = "-" + cell[1:]
    found = _SPACED.fullmatch(cell)
    if found is None:
        return cell
    return re.sub(r"[\s'’]", "", found[1]) + (found[2] or "") + found[3]


def is_value(cell: str, decimal: str) -> bool:
    """Whether a cell holds data: a number, a time or a date."""
    return is_number(cell, decimal) or is_time(cell) or is_date(cell)


def is_number(cell: str, decimal: str) -> bool:
    """Whether a cell is one number, perhaps with a unit behind it."""
    other = "," if decimal == "." else "."
    return other not in cell and bool(_NUMBER.fullmatch(without_spaces(cell)))


def worth(cell: str, decimal: str) -> float:
    """1 for data, half for what is a number only if the other mark stands between thousands."""
    if is_value(cell, decimal):
        return 1.0
    return 0.5 if _GROUPS[decimal].fullmatch(cell) else 0.0


def is_date(cell: str) -> bool:
    """Whether a cell looks like a date without a time."""
    return bool(_DATE.fullmatch(canonical(cell)))


def is_bare_date(cell: str) -> bool:
    """Whether a cell may be a date without marks, such as 20260331."""
    return bool(_BARE_DATE.fullmatch(cell))


def is_time(cell: str) -> bool:
    """Whether a cell looks like a time of day, a span h:mm or a date with a time."""
    written = canonical(cell)
    return ":" in written and bool(_TIME.fullmatch(written))


def is_unit(cell: str) -> bool:
    """Whether a cell holds the unit of a column and nothing else."""
    return bool(_UNIT.fullmatch(cell)) or unit_named(cell.strip("[]()")) is not None
