"""Which column of a table tells what: by its heading, then by what stands in it."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.domain.errors import FieldError, truncate
from app.domain.i18n.message import joined, say, transformed
from app.domain.past_tests.answers import Choice, Question
from app.domain.past_tests.columns import AMOUNTS, ENERGIES, REPEATABLE, PastColumn
from app.domain.quantity import parse_number
from app.domain.units.unit import Dimension, split_unit
from app.ingest.past_tests.amounts import is_likely, read_amount, unit_in
from app.ingest.past_tests.days import written_day
from app.ingest.past_tests.headings import (
    Aside,
    column_of_heading,
    column_of_words,
    names_amount_unit,
    names_temperature_unit,
)
from app.ingest.past_tests.table import OpenedPastTests
from app.ingest.past_tests.words import charge_of, end_of, kind_of
from app.ingest.wording.cells import is_missing, is_number
from app.ingest.wording.heading_words import says_discharge, words_of

_MOST = 0.8
_CELSIUS_END, _FAHRENHEIT_BEGIN = 45.0, 60.0
# More words than these that nobody knows are remarks.
_MAX_OWN_WORDS = 8
_BEGINS_WITH_NUMBER = re.compile(r"\W*\d")
_BY_UNIT = {
    Dimension.TEMPERATURE: PastColumn.AIR_C,
    Dimension.CURRENT: PastColumn.CURRENT_A,
    Dimension.POWER: PastColumn.POWER_W,
    Dimension.VOLTAGE: PastColumn.LAST_VOLTAGE_V,
    Dimension.TIME: PastColumn.HOURS,
}


@dataclass(frozen=True)
class ChosenColumns:
    """What the columns are taken for; without a question or a problem they can be read."""

    uses: tuple[PastColumn, ...]
    said: tuple[str, ...] = ()
    question: Question | None = None
    problem: FieldError | None = None

    def at(self, *uses: PastColumn) -> int | None:
        """The column that is one of these; None where there is none."""
        return next((i for i, one in enumerate(self.uses) if one in uses), None)


def choose_columns(
    opened: OpenedPastTests, rated_ah: float | None, given: Sequence[PastColumn] | None
) -> ChosenColumns:
    """What each column is: as the owner says, else as heading and cells tell."""
    width = len(opened.header)
    if given is not None:
        uses = (*given[:width], *[PastColumn.IGNORE] * (width - len(given)))
        return _checked(opened, ChosenColumns(uses, tuple(_said(opened, uses, {}))))
    asides: dict[int, str] = {}
    named = [_named(opened, i, asides) for i in range(width)]
    days = [
        i for i, use in enumerate(named) if use is PastColumn.DAY and _are_days(opened, i, 2000)
    ]
    days = days or [i for i in range(width) if _are_days(opened, i) and named[i] not in AMOUNTS]
    for i, use in enumerate(named):
        if days and i == days[0]:
            named[i] = PastColumn.DAY
        elif use is PastColumn.DAY and days:
            named[i] = PastColumn.IGNORE
    index, question = _amount(opened, named, rated_ah)
    uses = _once(named, None if question else index)
    question = question or _temperature_question(opened, uses)
    for i, use in enumerate(named):
        if use in AMOUNTS and uses[i] is PastColumn.IGNORE and index is not None:
            asides[i] = say("“{heading}” already says it", heading=_heading(opened, index))
    found = ChosenColumns(uses, tuple(_said(opened, uses, asides)), question)
    return found if question else _checked(opened, found)


def _named(opened: OpenedPastTests, index: int, asides: dict[int, str]) -> PastColumn:
    """What heading and cells tell of one column; why it is none of a test is put into asides."""
    use = column_of_heading(opened.header[index]) if opened.headed else PastColumn.IGNORE
    cells = [cell for cell in opened.column(index) if not is_missing(cell)]
    if isinstance(use, Aside):
        asides[index] = use.label
        return PastColumn.IGNORE
    if use is PastColumn.IGNORE and not opened.headed:
        return _by_cells(cells)
    if use in AMOUNTS and _are_words(cells):
        # "Charge" is amp-hours or, over "full" and "rested", how full the battery was.
        use = column_of_words(opened.header[index])
    if use is PastColumn.CHARGE and not any(map(charge_of, cells)) and _units(cells):
        # What is called a charge is a load in French.
        return PastColumn.LOAD
    if use in (PastColumn.CHARGE, PastColumn.END):
        known = charge_of if use is PastColumn.CHARGE else end_of
        if len({cell.casefold() for cell in cells if not known(cell)}) > _MAX_OWN_WORDS:
            return PastColumn.NOTES
    if use is PastColumn.KIND and not any(map(kind_of, cells)):
        return PastColumn.IGNORE
    if use is PastColumn.LOAD and cells and _units(cells) == {Dimension.CURRENT}:
        return PastColumn.CURRENT_A
    if use is PastColumn.AIR_C and not names_temperature_unit(opened.header[index]):
        return PastColumn.AIR_F if _median(cells) > _FAHRENHEIT_BEGIN else use
    return use


def _are_words(cells: Sequence[str]) -> bool:
    """Whether none is an amount, nor begins with a number; a per cent among words is no amount."""
    words = [cell for cell in cells if not cell.endswith("%")]
    return bool(words) and not any(
        _BEGINS_WITH_NUMBER.match(cell) or read_amount(cell, PastColumn.IGNORE) for cell in words
    )


def _by_cells(cells: Sequence[str]) -> PastColumn:
    """A column without a heading."""
    if not cells:
        return PastColumn.IGNORE
    kinds = _units(cells)
    if amount := next(filter(None, map(unit_in, cells)), None):
        return amount
    if len(kinds) == 1 and (use := _BY_UNIT.get(next(iter(kinds)))):
        return use
    numbers = sum(_is_number(cell) for cell in cells)
    if numbers >= _MOST * len(cells):
        return PastColumn.CAPACITY_AH
    return PastColumn.IGNORE if _are(cells) else PastColumn.NOTES


def _amount(
    opened: OpenedPastTests, named: list[PastColumn], rated_ah: float | None
) -> tuple[int | None, Question | None]:
    """The column of what the tests delivered; or the question which it is, or in which unit."""
    indices = [i for i, use in enumerate(named) if use in AMOUNTS and opened.column(i)]
    for i in indices:
        fitting = _units_of_amount(opened, i, named[i], rated_ah)
        named[i] = fitting[0]
        if len(fitting) > 1 and len(indices) == 1:
            return i, _use_question(opened, [(i, use) for use in fitting])
    counts = [i for i in indices if named[i] in AMOUNTS[:2]]
    energies = [i for i in indices if named[i] in ENERGIES]
    best = counts or energies or indices
    out = [i for i in best if says_discharge(words_of(opened.header[i]))]
    best = out or best
    if len({tuple(opened.column(i)) for i in best}) > 1:
        best = [i for i in best if len(set(opened.column(i))) > 1] or best
    if len({tuple(opened.column(i)) for i in best}) > 1:
        return best[0], _use_question(opened, [(i, named[i]) for i in best])
    return (best[0] if best else None), None


def _units_of_amount(
    opened: OpenedPastTests, index: int, use: PastColumn, rated_ah: float | None
) -> tuple[PastColumn, ...]:
    """The units an amount may be in: the one that is named, else those its numbers fit."""
    heading, cells = opened.header[index], opened.column(index)
    if names_amount_unit(heading) and not (use in ENERGIES and "h" not in heading.casefold()):
        return (use,)
    if units := [unit for unit in map(unit_in, cells) if unit]:
        return (max(set(units), key=units.count),)
    found = [read_amount(cell, use) for cell in cells]
    numbers = [abs(one.likely(rated_ah)[0]) for one in found if one and one.numbers]
    if not numbers or rated_ah is None:
        return (use,)
    middle = float(np.median(numbers))
    if use in ENERGIES:
        return tuple(u for u in ENERGIES if is_likely(middle, u, rated_ah)) or (use,)
    fitting = [u for u in AMOUNTS if is_likely(middle, u, rated_ah)]
    if PastColumn.CAPACITY_AH in fitting and abs(rated_ah - 100) < 1e-9:
        fitting = [u for u in fitting if u is not PastColumn.RATED_PERCENT]
    if not fitting and 0 < middle <= 1.6:
        return (PastColumn.RATED_PERCENT,)
    return tuple(fitting) or (use,)


def _use_question(opened: OpenedPastTests, pairs: Sequence[tuple[int, PastColumn]]) -> Question:
    choices = tuple(
        Choice(
            f"{i}:{use.value}",
            say("“{heading}”, {use}", heading=_heading(opened, i), use=use.label),
        )
        for i, use in pairs
    )
    names = joined(", ", dict.fromkeys(_heading(opened, i) for i, _ in pairs))
    words = say(
        "Which column holds the amount delivered, and in which unit? ({names})", names=names
    )
    return Question("use", words, choices)


def _temperature_question(opened: OpenedPastTests, uses: Sequence[PastColumn]) -> Question | None:
    """°C or °F, where neither the heading nor the size of the numbers tells."""
    for i, use in enumerate(uses):
        if use is not PastColumn.AIR_C or names_temperature_unit(opened.header[i]):
            continue
        cells = opened.column(i)
        if not _units(cells) and _CELSIUS_END < _median(cells) <= _FAHRENHEIT_BEGIN:
            pairs = [(i, PastColumn.AIR_C), (i, PastColumn.AIR_F)]
            choices = tuple(Choice(f"{i}:{u.value}", u.label) for _, u in pairs)
            words = say("In which unit is “{heading}”?", heading=_heading(opened, i))
            return Question("use", words, choices)
    return None


def _once(named: Sequence[PastColumn], amount: int | None) -> tuple[PastColumn, ...]:
    """Each use at its first column alone; of amounts the chosen one."""
    taken: set[str] = set()
    uses = []
    for i, use in enumerate(named):
        again = use.role in taken and use not in REPEATABLE
        if again or (use in AMOUNTS and i != amount):
            uses.append(PastColumn.IGNORE)
            continue
        taken.add(use.role)
        uses.append(use)
    return tuple(uses)


def _said(opened: OpenedPastTests, uses: Sequence[PastColumn], asides: dict[int, str]) -> list[str]:
    said = []
    for i, use in enumerate(uses):
        heading = _heading(opened, i)
        if use is not PastColumn.IGNORE:
            said.append(say("“{heading}”: {use}.", heading=heading, use=use.label))
        elif i in asides:
            said.append(say("“{heading}” was left out: {why}.", heading=heading, why=asides[i]))
        elif opened.header[i] and opened.column(i):
            said.append(say("“{heading}” was left out.", heading=heading))
    return said


def _checked(opened: OpenedPastTests, found: ChosenColumns) -> ChosenColumns:
    """With a problem where a day or an amount is missing, or a role is told by two columns."""
    roles = [use.role for use in found.uses if use not in REPEATABLE]
    twice = next((role for role in roles if roles.count(role) > 1), None)
    if twice:
        use = next(use for use in found.uses if use.role == twice)
        allowed = say("each use for one column only")
        problem = FieldError(say("columns"), use.label, allowed, "table")
    elif "day" not in roles or "amount" not in roles:
        names = joined(", ", (name or "?" for name in opened.header))
        allowed = (
            say("a column with a day for each test")
            if "day" not in roles
            else say("a column with the amp-hours, the watt-hours or the % of each test")
        )
        problem = FieldError(
            say("columns"), transformed(names, lambda text: truncate(text)), allowed, "table"
        )
    else:
        return found
    return ChosenColumns(found.uses, found.said, None, problem)


def _heading(opened: OpenedPastTests, index: int) -> str:
    return opened.header[index] or say("column {number}", number=index + 1)


def _are_days(opened: OpenedPastTests, index: int, year: int = 0) -> bool:
    return _are([cell for cell in opened.column(index) if not is_missing(cell)], year)


def _are(cells: Sequence[str], year: int = 0) -> bool:
    """Whether most cells name at least a month; bare numbers of years are none.

    A year stands for one above the rows, which nothing but a heading allows.
    """
    days = [written_day(cell, year) for cell in cells]
    told = [one for one in days if one and one.month and one.year and (year or not one.serial)]
    return bool(cells) and len(told) >= 0.5 * len(cells)


def _units(cells: Sequence[str]) -> set[Dimension]:
    units = {split_unit(cell)[1] for cell in cells}
    return {unit.kind for unit in units if unit is not None}


def _is_number(cell: str) -> bool:
    return (
        is_number(cell, ".")
        or is_number(cell, ",")
        or read_amount(cell, PastColumn.CAPACITY_AH) is not None
    )


def _median(cells: Sequence[str]) -> float:
    numbers = [parse_number(split_unit(cell)[0]) for cell in cells]
    known = [number for number in numbers if number is not None]
    return float(np.median(known)) if known else 0.0
