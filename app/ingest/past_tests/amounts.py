"""What a test delivered as people write it: 96.4, 96,4 Ah, ~96, >90, 96.4 ± 2."""

import re
from dataclasses import dataclass

from app.domain.past_tests.columns import PastColumn
from app.domain.quantity import parse_number
from app.domain.units.unit import (
    POINTED_THOUSANDS,
    THOUSANDS,
    Dimension,
    Unit,
    split_unit,
    unit_named,
)
from app.ingest.wording.cells import without_spaces

ABOUT = re.compile(
    r"(?:~|≈|∼|(?:ca|circa|c|about|approx|approximately|around|roughly|etwa|ungefähr|ungef|rund"
    r"|zirka|env|environ|aprox|unos|ongeveer|około|ok|cerca de|omkring)\b\.?)\s*",
    re.IGNORECASE,
)
AT_LEAST = re.compile(
    r"(?:>=?|≥|(?:min|mind|mindestens|minimum|at least|more than|over|über|mehr als|au moins"
    r"|plus de|al menos|más de|almeno|più di|minstens|meer dan|pelo menos|co najmniej|minst)\b\.?)"
    r"\s*",
    re.IGNORECASE,
)
_SPREAD = re.compile(r"\s*(?:±|\+\s?/\s?-|\+-)\s*\d+(?:[.,]\d+)?\s*(?=\D*$)")
_UNITS = {
    "Ah": PastColumn.CAPACITY_AH,
    "mAh": PastColumn.CAPACITY_MAH,
    "Wh": PastColumn.ENERGY_WH,
    "kWh": PastColumn.ENERGY_KWH,
    "%": PastColumn.RATED_PERCENT,
}
_UNIT_OF = {use: name for name, use in _UNITS.items()}
# How much of the rated capacity a test may have delivered, where that decides between two readings
# of a number, and the volts of batteries (common practice).
_LIKELY = (0.1, 1.6)
_VOLTS = (2, 100)
_SURE = {
    mark: re.compile(rf"[+\-−]?(?:\d*[{mark}](?:\d{{1,2}}|\d{{4,}})|0[{mark}]\d+)") for mark in ",."
}


@dataclass(frozen=True)
class Amount:
    """An amount as it stands in a cell, in the unit of use.

    numbers are two where a comma, or a point beside decimal commas, may stand for decimals or
    between thousands. qualified says that
    the cell holds more than a number: about, or its doubt.
    """

    use: PastColumn
    numbers: tuple[float, ...]
    at_least: bool = False
    qualified: bool = False

    @property
    def unit(self) -> str:
        return _UNIT_OF[self.use]

    def likely(self, rated_ah: float | None) -> tuple[float, ...]:
        """The numbers that a battery of this rated capacity may have delivered."""
        if len(self.numbers) == 1:
            return self.numbers
        found = tuple(n for n in self.numbers if is_likely(abs(n), self.use, rated_ah))
        return found or self.numbers


def is_likely(number: float, use: PastColumn, rated_ah: float | None) -> bool:
    """Whether a number in this unit is what such a battery may deliver; of energies the volts."""
    low, high = _LIKELY
    if use is PastColumn.RATED_PERCENT:
        return low <= number / 100 <= high
    if rated_ah is None:
        return True
    if use is PastColumn.CAPACITY_MAH:
        number /= 1000
    if use is PastColumn.ENERGY_KWH:
        number *= 1000
    if use in (PastColumn.ENERGY_WH, PastColumn.ENERGY_KWH):
        return _VOLTS[0] <= number / rated_ah <= _VOLTS[1]
    return low <= number / rated_ah <= high


def read_amount(cell: str, use: PastColumn, mark: str = "") -> Amount | None:
    """Read a cell of a column of this use; its own unit counts before the column's.

    mark is what stands for decimals in the whole column, empty where no cell of it is sure. None
    for anything that is not one amount.
    """
    text, about = ABOUT.subn("", " ".join(cell.split()), count=1)
    text, least = _leading(AT_LEAST, text)
    if text.endswith("+") and text[:-1].strip()[-1:].isalnum():
        text, least = text[:-1].strip(), True
    text, spread = _SPREAD.subn(" ", text)
    digits, unit = split_unit(without_spaces(text.strip()) if text.strip() else "")
    if unit is not None:
        if unit.symbol not in _UNITS:
            return None
        use = _UNITS[unit.symbol]
    numbers = _numbers(digits, mark)
    return Amount(use, numbers, least, bool(about or spread)) if numbers else None


def unit_in(cell: str) -> PastColumn | None:
    """The use that the unit behind an amount tells; None where there is none."""
    found = read_amount(cell, PastColumn.IGNORE)
    return None if found is None or found.use is PastColumn.IGNORE else found.use


def sure_mark(cells: list[str]) -> str:
    """The decimal mark of a column where some cell leaves no doubt and none says the other."""
    digits = [split_unit(_SPREAD.sub("", cell))[0] for cell in cells]
    marks = {mark for mark, sure in _SURE.items() for one in digits if sure.fullmatch(one)}
    return marks.pop() if len(marks) == 1 else ""


def other_unit(cell: str) -> Unit | None:
    """The unit behind a number that measures something else than an amount."""
    unit = split_unit(cell)[1]
    amounts = (Dimension.CHARGE, Dimension.ENERGY, Dimension.SHARE)
    return None if unit is None or unit.kind in amounts else unit


def in_base(number: float, use: PastColumn) -> float:
    """Milliamp-hours in Ah and kilowatt-hours in Wh; anything else as it is."""
    unit = unit_named(_UNIT_OF[use])
    if unit is None or use is PastColumn.RATED_PERCENT:
        return number
    return float(f"{unit.to_base(number):.12g}")


def _leading(pattern: re.Pattern[str], text: str) -> tuple[str, bool]:
    found = pattern.match(text)
    return (text[found.end() :], True) if found else (text, False)


def _numbers(digits: str, mark: str) -> tuple[float, ...]:
    """The one number of a text, or the two that it may be; none where it is none."""
    if THOUSANDS.fullmatch(digits) and digits.strip("+-−")[0] != "0":
        point, whole = (float(digits.replace("−", "-").replace(",", by)) for by in (".", ""))
        return {",": (point,), ".": (whole,)}.get(mark, (whole, point))
    if mark == "," and POINTED_THOUSANDS.fullmatch(digits):
        # Beside 95,2 in another row 1.234 may be a thousand, or come from another hand.
        return float(digits.replace(".", "")), float(digits)
    for other, decimal in ((",", "."), (".", ",")):
        if other in digits and decimal in digits:
            grouped = re.fullmatch(
                rf"([+\-−]?\d{{1,3}}(?:{re.escape(other)}\d{{3}})+)({re.escape(decimal)}\d+)",
                digits,
            )
            if grouped:
                digits = grouped[1].replace(other, "") + grouped[2]
    value = parse_number(digits)
    return () if value is None else (value,)
