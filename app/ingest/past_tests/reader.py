"""From a table of past tests to the tests it holds."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from app.domain.entities.discharge import EndReason
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import say
from app.domain.past_tests.answers import (
    KEEP,
    ONCE,
    Answers,
    Question,
    mean_voltage_question,
    twice_question,
    word_field,
    word_question,
)
from app.domain.past_tests.columns import AMOUNTS
from app.ingest.dialect import Row
from app.ingest.past_tests.amount_column import AmountColumn, Delivered
from app.ingest.past_tests.column_choice import ChosenColumns, choose_columns
from app.ingest.past_tests.day_column import DayColumn, FoundDay, read_days
from app.ingest.past_tests.headings import asks_whether_full
from app.ingest.past_tests.kind_of_table import refuse_log
from app.ingest.past_tests.past_test import LeftOutRow, PastTest, PastTests
from app.ingest.past_tests.row_cells import RowCells, read_cells
from app.ingest.past_tests.row_choice import pick_rows
from app.ingest.past_tests.table import OpenedPastTests
from app.ingest.past_tests.words import CHOICES


def read_past_tests(
    opened: OpenedPastTests, answers: Answers, today: date, rated_ah: float | None
) -> PastTests:
    """Read an opened table.

    What is wrong in a row and what the table leaves open come back beside the tests. Raises
    InvalidInput for headings alone and for the readings of one test.
    """
    if not opened.rows:
        raise InvalidInput([_no_rows()])
    chosen = choose_columns(opened, rated_ah, answers.uses)
    refuse_log(opened, chosen)
    said = (*opened.said, *chosen.said)
    if chosen.problem or chosen.question:
        wrong, asked = chosen.problem, chosen.question
        return PastTests(
            chosen.uses,
            problems=(wrong,) if wrong else (),
            questions=(asked,) if asked else (),
            assumptions=said,
        )
    picked = pick_rows(opened, chosen, answers)
    if picked.question:
        return PastTests(chosen.uses, questions=(picked.question,), assumptions=said)
    days = read_days(picked.days, answers, today)
    index = chosen.at(*AMOUNTS)
    assert index is not None
    amounts = AmountColumn(picked.rows, index, chosen.uses[index], rated_ah, answers.points)
    rows = _Rows(opened, chosen, answers, days, amounts)
    for line, row in picked.rows:
        rows.read(line, row)
    tests, copies, twice = _without_copies(rows.tests, answers.twice)
    problems = [*picked.problems, *days.problems, *amounts.problems, *rows.problems]
    if not tests and not problems and not days.questions and not amounts.questions:
        problems.append(_no_rows())
    return PastTests(
        chosen.uses,
        tuple(tests),
        tuple(sorted((*picked.left_out, *copies), key=lambda one: one.row)),
        tuple(problems),
        (*days.questions, *amounts.questions, *rows.questions, *twice),
        (*said, *picked.said, *days.said, *amounts.said, *rows.said, *_same_days_said(tests)),
        _open(tests),
    )


class _Rows:
    """The tests of rows, one after the other, and what is wrong or open in them."""

    def __init__(
        self,
        opened: OpenedPastTests,
        chosen: ChosenColumns,
        answers: Answers,
        days: DayColumn,
        amounts: AmountColumn,
    ) -> None:
        self._uses, self._answers, self._days, self._amounts = chosen.uses, answers, days, amounts
        self._asks_full = frozenset(
            i for i, name in enumerate(opened.header) if asks_whether_full(name)
        )
        self._amount = chosen.at(*AMOUNTS)
        self._own_words: dict[str, Question] = {}
        self._without_voltage = False
        self.tests: list[PastTest] = []
        self.problems: list[FieldError] = []

    def read(self, line: int, row: Row) -> None:
        """Read one row; without a day or an amount it was refused already."""
        cells = read_cells(line, row, self._uses, self._answers.words, self._asks_full)
        self.problems += cells.problems
        for use, word in cells.own_words:
            self._own_words.setdefault(
                word_field(use, word), word_question(use, word, CHOICES[use])
            )
        day, amount = self._days.days.get(line), self._amounts.found.get(line)
        if day is not None and amount is not None:
            written = row[self._amount] if self._amount is not None else ""
            self.tests.append(self._test(line, cells, day, amount, written))

    def _test(
        self, line: int, cells: RowCells, day: FoundDay, amount: Delivered, written: str
    ) -> PastTest:
        told, said = dict(cells.told), list(day.said)
        if amount.energy and "mean_voltage_v" not in told:
            told["mean_voltage_v"] = self._answers.mean_voltage_v
            self._without_voltage |= self._answers.mean_voltage_v is None
        if amount.at_least:
            told["at_least"] = True
        end = told.get("end_reason")
        if told.get("at_least") and (
            end is None or (isinstance(end, EndReason) and end.claims_empty)
        ):
            # A lower bound says that the battery was not empty, or that nobody knows.
            told["end_reason"] = EndReason.UNKNOWN
            said.append(say("Its row says “at least”, so the reason it ended counts as not known."))
        if amount.qualified:
            said.append(say("The table has “{written}”.", written=written))
        value = {"counted_wh" if amount.energy else "counted_ah": amount.value}
        made = PastTest(line, day.day, day.clock, notes=cells.note, assumptions=tuple(said))
        return replace(made, **value, **told)  # type: ignore[arg-type]

    @property
    def said(self) -> list[str]:
        volts = self._answers.mean_voltage_v
        if volts is None or not any(one.mean_voltage_v == volts for one in self.tests):
            return []
        return [
            say("The mean voltage of the tests was {volts:g} V, from your answer.", volts=volts)
        ]

    @property
    def questions(self) -> list[Question]:
        asked = [mean_voltage_question()] if self._without_voltage else []
        return [*asked, *self._own_words.values()]


def _without_copies(
    tests: Sequence[PastTest], answer: str
) -> tuple[list[PastTest], list[LeftOutRow], list[Question]]:
    """Tests of one day with one result: they are asked about, kept, or taken once."""
    seen: dict[tuple[object, ...], PastTest] = {}
    kept: list[PastTest] = []
    copies: list[LeftOutRow] = []
    asked: list[Question] = []
    for one in tests:
        key = (one.day, one.clock, one.counted_ah, one.counted_wh)
        first = seen.setdefault(key, one)
        if first is one or answer == KEEP:
            kept.append(one)
        elif answer == ONCE:
            why = say("the same test as in line {number}", number=first.row)
            copies.append(LeftOutRow(one.row, why))
        else:
            kept.append(one)
            asked.append(twice_question(first.row, one.row, f"{one.day}", _amount_said(one)))
    return kept, copies, asked[:1]


def _amount_said(one: PastTest) -> str:
    if one.counted_ah is not None:
        return say("{amount:g} Ah", amount=one.counted_ah)
    return say("{amount:g} Wh", amount=one.counted_wh or 0)


def _same_days_said(tests: Sequence[PastTest]) -> list[str]:
    days = [one.day for one in tests]
    twice = sorted({day for day in days if days.count(day) > 1})
    return [
        say(
            "Two tests have the date {day}; both were kept, in the order of the table.",
            day=str(day),
        )
        if days.count(day) == 2
        else say(
            "{count} tests have the date {day}; all were kept, in the order of the table.",
            count=days.count(day),
            day=str(day),
        )
        for day in twice
    ]


def _open(tests: Sequence[PastTest]) -> tuple[str, ...]:
    """What some row leaves open that is asked once for all rows."""
    found = {
        "charge": any(one.charge_condition is None for one in tests),
        "end": any(one.end_reason is None for one in tests),
        "meter": any(not one.meter for one in tests),
    }
    return tuple(name for name, is_open in found.items() if is_open)


def _no_rows() -> FieldError:
    return FieldError(
        say("table"), say("headings alone"), say("a row below them for each test"), "table"
    )
