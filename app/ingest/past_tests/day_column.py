"""The days of all rows of a table, with what decides how they are read."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, time

from app.domain.errors import FieldError, truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.past_tests.answers import (
    MIDDLE,
    Answers,
    Question,
    day_order_question,
    months_question,
)
from app.domain.past_tests.columns import PastColumn
from app.domain.units.column import DayOrder
from app.domain.units.time_units import EARLIEST_YEAR
from app.ingest.past_tests.days import WrittenDay, order_of, possible, written_day

_MID_MONTH = 15
_YEAR_NEEDED = N_("a day, or a month, with a year of four digits, such as 2024-03-31 or Mar 2024")


@dataclass(frozen=True)
class FoundDay:
    """The day of a row and the time of day, with what was assumed to get them."""

    day: date
    clock: time | None
    said: tuple[str, ...]


@dataclass(frozen=True)
class DayColumn:
    """The days by the lines of their rows; what could not be read is a problem, or a question."""

    days: dict[int, FoundDay]
    said: tuple[str, ...]
    problems: tuple[FieldError, ...]
    questions: tuple[Question, ...]


@dataclass(frozen=True)
class DayCell:
    """The cell of a row, and the year of the heading above it."""

    line: int
    text: str
    year: int = 0


def read_days(cells: Sequence[DayCell], answers: Answers, today: date) -> DayColumn:
    """Read all days of a column, by one order of day and month."""
    written = [(cell, written_day(cell.text, cell.year)) for cell in cells]
    order, said, wrong, unordered = _order(written, answers.day_order)
    months: list[Question] = []
    days: dict[int, FoundDay] = {}
    problems = [] if wrong is None else [wrong]
    for cell, one in written:
        if wrong or unordered:
            break
        if one is not None and one.of_month and answers.months != MIDDLE:
            short = date(one.year, one.month, 1) if one.century else None
            months = months or [months_question(cell.line, truncate(cell.text), short)]
            continue
        found = _day(cell, one, order, today)
        if isinstance(found, FoundDay):
            days[cell.line] = found
        else:
            problems.append(found)
    return DayColumn(days, tuple(said), tuple(problems), (*unordered, *months))


def _order(
    written: Sequence[tuple[DayCell, WrittenDay | None]], given: DayOrder | None
) -> tuple[DayOrder | None, list[str], FieldError | None, list[Question]]:
    """The order of day and month of the whole column, what is said of it, or why there is none."""
    open_ones = [(cell, one) for cell, one in written if one is not None and one.open_order]
    shown, lines = order_of([(cell.line, one) for cell, one in open_ones])
    texts = {cell.line: cell.text for cell, _ in open_ones}
    if len(shown) > 1:
        day, month = lines[DayOrder.DAY_FIRST], lines[DayOrder.MONTH_FIRST]
        first, second = sorted((day, month))
        allowed = say(
            "all dates in one order of day and month; line {number} has “{other}”",
            number=first,
            other=texts[first],
        )
        return None, [], FieldError(_where(second), texts[second], allowed, "table"), []
    if shown:
        order = shown.pop()
        words = say(
            "Dates were read {order}, as line {number} shows.",
            order=order.words,
            number=lines[order],
        )
        return order, [words], None, []
    matters = [cell for cell, one in open_ones if one.day != one.month]
    if given is not None:
        return given, [say("Dates were read {order}.", order=given.words)], None, []
    if matters:
        return None, [], None, [day_order_question(truncate(matters[0].text))]
    return None, [], None, []


def _day(
    cell: DayCell, one: WrittenDay | None, order: DayOrder | None, today: date
) -> FoundDay | FieldError:
    said: list[str] = []
    if one is None or (one.year and not one.month):
        return _wrong(cell, say("a day such as 2024-03-31; a year or a season is not enough"))
    if not one.year:
        return _wrong(cell, say(_YEAR_NEEDED))
    if one.of_month:
        one = replace(one, day=_MID_MONTH)
        said.append(say("“{date}” names no day: Fadeline took the 15th.", date=cell.text))
    day = one.on(order)
    if day is None:
        return _wrong(cell, say("a day that exists, such as 2024-03-31"))
    if not possible(day, today):
        if one.century:
            return _wrong(cell, say("a day with a year of four digits, such as 2024-03-31"))
        allowed = say(
            "a day from {earliest} to {today}", earliest=date(EARLIEST_YEAR, 1, 1), today=today
        )
        return _wrong(cell, allowed)
    if one.century or one.serial or cell.year:
        said.append(say("“{date}” is {day:long}.", date=cell.text, day=day))
    return FoundDay(day, one.clock, tuple(said))


def _wrong(cell: DayCell, allowed: str) -> FieldError:
    return FieldError(_where(cell.line), truncate(cell.text), allowed, "table")


def _where(line: int) -> str:
    return say("line {number}, {column}", number=line, column=PastColumn.DAY.label)
