"""A table of past tests on its way to a battery: looked at first, stored on its owner's word."""

from collections.abc import Container, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time

from app.domain.entities.discharge import (
    NOTED_FIELDS,
    ChargeCondition,
    Discharge,
    DischargeDetails,
    EndReason,
)
from app.domain.entities.meter import MeterKind
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.message import say, say_plural
from app.domain.local_clock import day_here, offset_minutes
from app.domain.past_tests.answers import Answers, Choice, Question, word_field, word_question
from app.domain.past_tests.columns import PastColumn
from app.domain.readings import Readings
from app.ingest.past_tests.past_test import PastTest, PastTests
from app.ingest.past_tests.reader import read_past_tests
from app.ingest.past_tests.table import OpenedPastTests, open_past_tests, undecided_sheet
from app.services.entities import batteries, imports, meters
from app.services.entities.discharges import Original
from app.services.entities.imports import ComingTest, NewTest
from app.services.entities.meters import MeterChoice
from app.services.store import Store

NO_READINGS = Readings.of([], [])
_SHOWN_LINES = 8


@dataclass(frozen=True)
class ForAllRows:
    """What is answered once for the rows that do not say it; None where nobody answered."""

    charge: ChargeCondition | None = None
    end: EndReason | None = None
    meter: MeterChoice | None = None


@dataclass(frozen=True)
class RowTest:
    """A row beside the test it will be."""

    row: PastTest
    coming: ComingTest


@dataclass(frozen=True)
class LookedAt:
    """What a table says with some answers.

    tests are there once everything is answered that they hang on; open_ are the questions for all
    rows that nobody answered yet.
    """

    opened: OpenedPastTests
    read: PastTests
    problems: tuple[FieldError, ...]
    questions: tuple[Question, ...]
    open_: tuple[str, ...]
    tests: tuple[RowTest, ...]

    def unanswered(self, meant: Container[str]) -> bool:
        """Whether something about a row can hardly be, and nobody said that it is meant."""
        return bool(doubts_said(self, meant))


def look_at(
    store: Store,
    battery_id: int,
    data: bytes,
    answers: Answers,
    for_all: ForAllRows,
    sheet: str | None,
    source: str,
    now: datetime,
) -> LookedAt:
    """What a table says with these answers. Raises InvalidInput where it is no table of tests."""
    battery = batteries.get_battery(store, battery_id)
    opened = open_past_tests(data, part=sheet)
    # Where the table has several batteries, the one of the same name is meant; the preview says so.
    answers = replace(answers, battery=answers.battery or battery.details.name)
    read = read_past_tests(opened, answers, day_here(now), battery.details.rated_ah)
    known, asked = _meters(store, read.tests, answers)
    problems = (*undecided_sheet(opened, sheet), *read.problems)
    questions = (*read.questions, *asked)
    needed = {"charge": for_all.charge, "end": for_all.end, "meter": for_all.meter}
    open_ = tuple(name for name in read.open_ if needed[name] is None)
    tests: tuple[RowTest, ...] = ()
    if not (problems or questions or open_):
        said = (*read.assumptions, *_left_out_said(read))
        made = [_new_test(one, for_all, known, said, source) for one in read.tests]
        called = [(row.row, say("line {number}", number=row.row)) for row in read.tests]
        try:
            coming = imports.consider(store, battery_id, made, called, now)
            tests = tuple(map(RowTest, read.tests, coming))
        except InvalidInput as refused:
            problems += tuple(replace(one, field="table") for one in refused.problems)
    return LookedAt(opened, read, problems, questions, open_, tests)


def store_all(
    store: Store,
    battery_id: int,
    looked: LookedAt,
    meant: Container[str],
    now: datetime,
    original: Original,
    import_uid: str = "",
) -> list[Discharge]:
    """Store all tests of a table, or none.

    Raises InvalidInput while something is open, and StaleEdit where this import is stored already.
    """
    problems = (*looked.problems, *missing_answers(looked))
    if problems:
        raise InvalidInput(problems)
    if doubts := _doubts(looked, meant):
        raise InvalidInput(doubts)
    tests = [one.coming.meant for one in looked.tests]
    return imports.add_discharges(store, battery_id, tests, now, original, import_uid)


def missing_answers(looked: LookedAt) -> list[FieldError]:
    """What nobody answered yet, each at its field."""
    # The field of a question says it itself.
    open_question = say("Please answer this question.")
    return [
        *(_open_problem(name) for name in looked.open_),
        *(FieldError(open_question, "", "", one.name) for one in looked.questions),
    ]


def doubts_said(looked: LookedAt, meant: Container[str]) -> list[str]:
    """What can hardly be and nobody answered, each with its row."""
    return [one.sentence for one in _doubts(looked, meant)]


def _doubts(looked: LookedAt, meant: Container[str]) -> list[FieldError]:
    """The same, each at the field that answers it."""
    return [
        FieldError(
            say("Line {number}: {doubt}", number=one.row.row, doubt=question.doubt.sentence),
            "",
            "",
            field,
            say("Line {number}", number=one.row.row),
        )
        for one in looked.tests
        for question in one.coming.questions
        if (field := one.coming.field_of(question)) not in meant
    ]


def _open_problem(name: str) -> FieldError:
    """What has to be answered once for all rows."""
    label = {
        "charge": PastColumn.CHARGE.label,
        "end": PastColumn.END.label,
        "meter": PastColumn.METER.label,
    }[name]
    return FieldError(label, "", say("an answer for the rows that do not say it"), name)


def _meters(
    store: Store, tests: Sequence[PastTest], answers: Answers
) -> tuple[dict[str, MeterChoice], list[Question]]:
    """The meter of each name in the table; a name that nobody knows here is asked about."""
    stored = {one.details.shown_name.casefold(): one.id for one in meters.list_meters(store)}
    typical = {name: kind for kind in MeterKind for name in (kind.value, kind.label.casefold())}
    found: dict[str, MeterChoice] = {}
    asked = []
    for name in dict.fromkeys(one.meter for one in tests if one.meter):
        key = name.casefold()
        answer = answers.words.get(word_field(PastColumn.METER, name), "")
        choice: MeterChoice | None = stored.get(key, typical.get(key))
        if answer.isascii() and answer.isdigit() and int(answer) in stored.values():
            choice = int(answer)
        elif answer in tuple(MeterKind):
            choice = MeterKind(answer)
        if choice is None:
            choices = [Choice(str(number), shown) for shown, number in stored.items()]
            choices += [Choice(kind.value, kind.label) for kind in MeterKind]
            asked.append(word_question(PastColumn.METER, name, tuple(choices)))
        else:
            found[name] = choice
    return found, asked


def _new_test(
    row: PastTest,
    for_all: ForAllRows,
    known: dict[str, MeterChoice],
    said: tuple[str, ...],
    source: str,
) -> NewTest:
    charge, end = row.charge_condition or for_all.charge, row.end_reason or for_all.end
    meter = known[row.meter] if row.meter else for_all.meter
    assert charge is not None
    assert end is not None
    assert meter is not None
    # Of such a test the day is known; that is its first moment here.
    started = datetime.combine(row.day, time()).astimezone()
    noted = {name: getattr(row, name) for name in NOTED_FIELDS}
    details = DischargeDetails(
        started_at=started.astimezone(UTC),
        utc_offset_minutes=offset_minutes(started),
        charge_condition=charge,
        end_reason=end,
        readings=NO_READINGS,
        ambient_c=row.ambient_c,
        load=row.load,
        notes=row.notes,
        source=source,
        assumptions=(*said, *row.assumptions),
        left_out_reason=row.left_out_reason,
        **noted,
    )
    return NewTest(details, meter)


def _left_out_said(read: PastTests) -> tuple[str, ...]:
    """Kept with each test: that its table held more rows, and which."""
    if not read.left_out:
        return ()
    lines = [str(one.row) for one in read.left_out]
    shown = ", ".join(lines[:_SHOWN_LINES]) + (" …" if len(lines) > _SHOWN_LINES else "")
    return (say_plural(*imports.LEFT_OUT, len(lines), lines=shown),)
