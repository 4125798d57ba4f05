"""Which rows of a table are tests: no totals, no headings, no rows of other batteries."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from app.domain.errors import FieldError, truncate
from app.domain.i18n.message import say, say_plural
from app.domain.past_tests.answers import Answers, Question, battery_question
from app.domain.past_tests.columns import AMOUNTS, PastColumn
from app.ingest.dialect import Row
from app.ingest.past_tests.amounts import Amount, read_amount
from app.ingest.past_tests.column_choice import ChosenColumns
from app.ingest.past_tests.day_column import DayCell
from app.ingest.past_tests.days import year_heading
from app.ingest.past_tests.past_test import LeftOutRow
from app.ingest.past_tests.table import MAX_PAST_ROWS, OpenedPastTests, too_many_tests
from app.ingest.wording.cells import is_missing
from app.ingest.wording.heading_words import plain

_TOTAL = re.compile(
    r"(total|sum|summe|gesamt|mean|average|avg|mittel|durchschn|somme|moyenne|media|promedio|somma"
    r"|gemiddeld|totaal|soma|suma|srednia|summa|medel|minimum|maximum|min|max|median|count|anzahl)"
)
_NEAR = 0.001


@dataclass(frozen=True)
class PickedRows:
    """The rows that are tests with the year above each, and what became of the others."""

    rows: tuple[tuple[int, Row], ...]
    days: tuple[DayCell, ...]
    left_out: tuple[LeftOutRow, ...]
    said: tuple[str, ...]
    problems: tuple[FieldError, ...] = ()
    question: Question | None = None


def pick_rows(opened: OpenedPastTests, chosen: ChosenColumns, answers: Answers) -> PickedRows:
    """The rows that are tests. Raises InvalidInput where one battery has too many."""
    day, amount = chosen.at(PastColumn.DAY), chosen.at(*AMOUNTS)
    assert day is not None
    assert amount is not None
    battery, question = _battery(opened, chosen, answers)
    year, years = 0, []
    rows: list[tuple[int, Row]] = []
    days: list[DayCell] = []
    left_out: list[LeftOutRow] = []
    problems: list[FieldError] = []
    others: list[str] = []
    for line, row in opened.rows:
        filled = [cell for cell in row if cell]
        if len(filled) == 1 and (found := year_heading(filled[0])):
            year = found
            years.append(line)
            continue
        why = _why_none(row, opened.header, chosen)
        if not why and is_missing(row[day]):
            numbers = [_number(before[amount], chosen.uses[amount]) for _, before in rows]
            if _sums(_number(row[amount], chosen.uses[amount]), numbers):
                why = say("a sum or a mean of the rows above")
        if why:
            left_out.append(LeftOutRow(line, why))
        elif battery is not None and row[battery[0]] != battery[1]:
            others.append(row[battery[0]])
        elif is_missing(row[day]):
            where = say("line {number}, {column}", number=line, column=PastColumn.DAY.label)
            allowed = say("a day for each amount, such as 2024-03-31")
            problems.append(FieldError(where, truncate("; ".join(filled)), allowed, "table"))
        else:
            rows.append((line, row))
            days.append(DayCell(line, row[day], year))
    if len(rows) > MAX_PAST_ROWS and not question:
        raise too_many_tests(len(rows))
    said = _years_said(years) if years else []
    if battery is not None:
        said.append(_others_said(battery[1], others))
    return PickedRows(
        tuple(rows), tuple(days), tuple(left_out), tuple(said), tuple(problems), question
    )


def _why_none(row: Row, header: Row, chosen: ChosenColumns) -> str:
    """Why a row is no test; empty where it may be one."""
    day, amount = chosen.at(PastColumn.DAY), chosen.at(*AMOUNTS)
    assert day is not None
    assert amount is not None
    if [cell.casefold() for cell in row] == [name.casefold() for name in header]:
        return say("the headings once more")
    first = plain(next(cell for cell in row if cell)).casefold()
    if _TOTAL.match(first) and read_amount(row[amount], PastColumn.CAPACITY_AH):
        return say("a sum or a mean of the rows above")
    if is_missing(row[amount]):
        return (
            say("neither a day nor an amount")
            if is_missing(row[day])
            else say("no amount that was delivered")
        )
    return ""


def _battery(
    opened: OpenedPastTests, chosen: ChosenColumns, answers: Answers
) -> tuple[tuple[int, str] | None, Question | None]:
    """The column that tells batteries apart and the chosen one, or the question which."""
    index = chosen.at(PastColumn.BATTERY)
    names = list(dict.fromkeys(opened.column(index))) if index is not None else []
    if index is None or len(names) < 2:
        return None, None
    if answers.battery in names:
        return (index, answers.battery), None
    return None, battery_question(names)


def _number(cell: str, use: PastColumn) -> float | None:
    found: Amount | None = read_amount(cell, use)
    return found.numbers[0] if found else None


def _sums(number: float | None, above: Sequence[float | None]) -> bool:
    """Whether an amount without a day is what the rows above it add up to, or their mean."""
    known = [one for one in above if one is not None]
    if number is None or len(known) < 2:
        return False
    return any(
        abs(number - one) <= _NEAR * abs(one) for one in (sum(known), sum(known) / len(known))
    )


def _others_said(battery: str, others: Sequence[str]) -> str:
    """One sentence for them all: a club's table has a thousand."""
    return say_plural(
        "Only rows of “{battery}” were taken; 1 row of another battery ({names}) was left out.",
        "Only rows of “{battery}” were taken; {count} rows of other batteries ({names}) were left "
        "out.",
        len(others),
        battery=battery,
        names=truncate(", ".join(dict.fromkeys(one or "?" for one in others)), 60),
    )


def _years_said(years: Sequence[int]) -> list[str]:
    return [
        say_plural(
            "1 row with a year alone was taken as a heading for the rows below it (line {lines}).",
            "{count} rows with a year alone were taken as headings for the rows below them "
            "(line {lines}).",
            len(years),
            lines=", ".join(map(str, years[:5])) + (" …" if len(years) > 5 else ""),
        )
    ]
