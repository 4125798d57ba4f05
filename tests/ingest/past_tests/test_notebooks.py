"""Tables of past tests come in as their owners expect, or the words lead on."""

from datetime import date, time

import pytest

from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.errors import InvalidInput
from app.domain.past_tests.answers import Answers
from app.domain.past_tests.columns import PastColumn
from app.domain.units.column import DayOrder
from app.ingest.past_tests.reader import read_past_tests
from app.ingest.past_tests.table import open_past_tests
from tests.ingest.past_tests.notebooks import TABLES, Asks, Holds, Refuses

TODAY = date(2026, 6, 1)
RATED_AH = 100.0
HOLDS = {name: one for name, one in TABLES.items() if isinstance(one[1], Holds)}
REFUSES = {name: one for name, one in TABLES.items() if isinstance(one[1], Refuses)}
ASKS = {name: one for name, one in TABLES.items() if isinstance(one[1], Asks)}


def answers_of(given):
    made = dict(given)
    if "day_order" in made:
        made["day_order"] = DayOrder(made["day_order"])
    if "uses" in made:
        made["uses"] = tuple(map(PastColumn, made["uses"]))
    return Answers(**made)


def read(text, given):
    opened = open_past_tests(text.encode())
    return read_past_tests(opened, answers_of(given), TODAY, RATED_AH)


def shown(value):
    if isinstance(value, ChargeCondition | EndReason):
        return value.value
    return f"{value:%H:%M}" if isinstance(value, time) else value


@pytest.mark.parametrize("name", HOLDS)
def test_a_table_comes_in_as_expected(name):
    text, expected = HOLDS[name]
    found = read(text, expected.answers)
    assert [str(one.sentence) for one in found.problems] == []
    assert [one.name for one in found.questions] == []
    assert tuple(one.day.isoformat() for one in found.tests) == expected.days
    assert [one.counted_ah for one in found.tests] == pytest.approx(list(expected.amp_hours))
    for field, values in expected.more.items():
        seen = [shown(getattr(one, field)) for one in found.tests]
        if field in ("load", "notes"):
            assert all(words in one for words, one in zip(values, seen, strict=True)), seen
        elif any(isinstance(value, float | int) for value in values):
            assert seen == pytest.approx(list(values), abs=0.06 if field == "ambient_c" else 1e-3)
        else:
            assert tuple(seen) == values
    assert tuple(one.row for one in found.left_out) == expected.left_out
    said = " ".join([*found.assumptions, *(s for one in found.tests for s in one.assumptions)])
    assert [words for words in expected.said if words not in said] == [], said
    if expected.open_ is not None:
        assert found.open_ == expected.open_


@pytest.mark.parametrize("name", REFUSES)
def test_what_cannot_be_taken_is_refused_with_its_row(name):
    text, expected = REFUSES[name]
    try:
        found = read(text, expected.answers)
    except InvalidInput as refusal:
        said = str(refusal)
    else:
        assert found.problems
        said = " ".join(one.sentence for one in found.problems)
    assert [words for words in expected.words if words not in said] == [], said


@pytest.mark.parametrize("name", ASKS)
def test_what_a_table_leaves_open_is_asked(name):
    text, expected = ASKS[name]
    found = read(text, expected.answers)
    assert [str(one.sentence) for one in found.problems] == []
    assert [one.name for one in found.questions] == [expected.name]
    (question,) = found.questions
    assert tuple(choice.value for choice in question.choices) == expected.choices
    assert [words for words in expected.words if words not in question.words] == [], question.words


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-32"])
def test_a_table_comes_in_in_every_encoding_of_unicode(encoding):
    text = "date;Ah;notes\n14.3.2022;99,1;−3 °C\n31.3.2023;96,4;\n"
    found = read_past_tests(open_past_tests(text.encode(encoding)), Answers(), TODAY, RATED_AH)
    assert [one.counted_ah for one in found.tests] == [99.1, 96.4]
    assert found.tests[0].notes == "−3 °C"
