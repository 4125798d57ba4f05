"""The cells of one row, but for its day, as what they tell of a test."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from app.domain import quantity as q
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.message import say
from app.domain.limits import MAX_LINE_LENGTH, MAX_NOTES_LENGTH
from app.domain.past_tests.answers import word_field
from app.domain.past_tests.columns import PastColumn
from app.domain.quantity import Quantity
from app.ingest.dialect import Row
from app.ingest.past_tests.words import (
    AT_LEAST,
    CHOICES,
    INVALID,
    charge_of,
    end_of,
    kind_of,
    speaks_of_end,
)
from app.ingest.wording.cells import is_missing

_MINUTES_AN_HOUR = 60
# What a column of numbers may hold, and where a number without a unit is turned into another.
_NUMBERS: dict[PastColumn, tuple[str, Quantity]] = {
    PastColumn.MEAN_VOLTAGE_V: ("mean_voltage_v", q.MEAN_VOLTAGE),
    PastColumn.LAST_VOLTAGE_V: ("last_voltage_v", q.LAST_VOLTAGE),
    PastColumn.AIR_C: ("ambient_c", q.AMBIENT_TEMPERATURE),
    PastColumn.AIR_F: ("ambient_c", q.AMBIENT_TEMPERATURE),
    PastColumn.CURRENT_A: ("mean_current_a", q.LOAD_CURRENT),
    PastColumn.HOURS: ("duration_h", q.TEST_HOURS),
    PastColumn.MINUTES: ("duration_h", q.TEST_HOURS),
}
_IN_OWN_UNIT: dict[PastColumn, Callable[[float], float]] = {
    PastColumn.AIR_F: lambda number: (number - 32) / 1.8,
    PastColumn.MINUTES: lambda number: number / _MINUTES_AN_HOUR,
}
# Their words for what is not known, or not valid, are no missing values.
_IN_WORDS = (PastColumn.CHARGE, PastColumn.END, PastColumn.KIND)
_TOLD: dict[PastColumn, Callable[[str], ChargeCondition | EndReason | None]] = {
    PastColumn.CHARGE: charge_of,
    PastColumn.END: end_of,
}


@dataclass
class RowCells:
    """What a row tells, by the names of a test's fields; own_words are those nobody knows here."""

    told: dict[str, object] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    problems: list[FieldError] = field(default_factory=list)
    own_words: list[tuple[PastColumn, str]] = field(default_factory=list)

    @property
    def note(self) -> str:
        return "; ".join(self.notes)[:MAX_NOTES_LENGTH]


def read_cells(
    line: int,
    row: Row,
    uses: tuple[PastColumn, ...],
    words: Mapping[str, str],
    asks_full: frozenset[int],
) -> RowCells:
    """Read all cells of a row but its day and its amount.

    words are the owner's answers to what words mean; asks_full are the columns in which yes and no
    say whether the battery was full.
    """
    found = RowCells()
    for index, (use, cell) in enumerate(zip(uses, row, strict=True)):
        if not cell or (is_missing(cell) and use not in _IN_WORDS):
            continue
        if use in _NUMBERS:
            _number(found, line, use, cell)
        elif use in _TOLD and cell.strip("-–— "):
            _word(found, use, cell, words, asks_full=index in asks_full)
        elif use is PastColumn.KIND:
            _kind(found, cell)
        elif use is PastColumn.NOTES:
            found.notes.append(cell)
        elif use is PastColumn.METER:
            found.told["meter"] = truncate(cell)
        elif use in (PastColumn.LOAD, PastColumn.POWER_W):
            _load(found, use, cell)
    of_end = "; ".join(filter(speaks_of_end, found.notes))
    if of_end and "end_reason" not in found.told and PastColumn.END not in dict(found.own_words):
        # An answer for the rows that do not say it would pass over what this one says.
        _tell(found, PastColumn.END, truncate(of_end), words, None)
    return found


def _number(found: RowCells, line: int, use: PastColumn, cell: str) -> None:
    name, quantity = _NUMBERS[use]
    where = say("line {number}, {column}", number=line, column=use.label)
    convert = _IN_OWN_UNIT.get(use)
    try:
        plain = q.parse_number(cell)
        if convert is None or plain is None:
            value = quantity.parse(cell, where, "table")
        elif quantity.holds(convert(plain)):
            value = convert(plain)
        else:
            raise InvalidInput.because(where, cell, quantity.allowed, "table")
    except InvalidInput as refusal:
        found.problems += refusal.problems
        return
    found.told[name] = round(value, 6)


def _word(
    found: RowCells, use: PastColumn, cell: str, words: Mapping[str, str], *, asks_full: bool
) -> None:
    known = charge_of(cell, asks_full=asks_full) if use is PastColumn.CHARGE else end_of(cell)
    _tell(found, use, truncate(cell), words, known)


def _tell(
    found: RowCells,
    use: PastColumn,
    word: str,
    words: Mapping[str, str],
    known: ChargeCondition | EndReason | None,
) -> None:
    """What a word means: as the owner answered, else as it is known, else it is asked about."""
    answer = words.get(word_field(use, word))
    told = known
    if answer in {choice.value for choice in CHOICES[use]}:
        told = ChargeCondition(answer) if use is PastColumn.CHARGE else EndReason(answer)
    if told is None:
        found.own_words.append((use, word))
    else:
        found.told["charge_condition" if use is PastColumn.CHARGE else "end_reason"] = told


def _kind(found: RowCells, cell: str) -> None:
    kind = kind_of(cell)
    if kind == AT_LEAST:
        found.told["at_least"] = True
    elif kind == INVALID:
        found.told["left_out_reason"] = truncate(cell)
    elif not kind:
        found.notes.append(cell)


def _load(found: RowCells, use: PastColumn, cell: str) -> None:
    """Words as they are; a number of a column of watts with its unit."""
    watts = q.parse_number(cell) is not None and use is PastColumn.POWER_W
    told = f"{cell} W" if watts else cell
    before = found.told.get("load")
    found.told["load"] = truncate(f"{before}, {told}" if before else told, MAX_LINE_LENGTH)
