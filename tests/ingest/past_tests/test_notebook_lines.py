"""Lines of a notebook without headings come in, with questions and no guesses."""

from datetime import date

import pytest

from app.domain.entities.discharge import EndReason
from app.domain.errors import InvalidInput
from app.domain.past_tests.answers import MIDDLE, Answers, word_field
from app.domain.past_tests.columns import PastColumn
from app.ingest.past_tests.reader import read_past_tests
from app.ingest.past_tests.table import open_past_tests

LINES = "Aug 2022: 98 Ah, abgeschaltet\n\n12.08.2023 94 Ah\n31 Aug 2024 - 92,5 Ah\n"


def read(text, answers):
    return read_past_tests(open_past_tests(text.encode()), answers, date(2026, 6, 1), 100.0)


def test_a_month_and_a_word_of_the_end_are_asked_about():
    asked = [one.words for one in read(LINES, Answers()).questions]
    assert "line 1: “Aug 2022” names no day" in asked[0]
    assert "what does “abgeschaltet” mean?" in asked[1]


def test_answered_every_line_is_a_test():
    told = {word_field(PastColumn.END, "abgeschaltet"): "protection"}
    found = read(LINES, Answers(months=MIDDLE, words=told))
    assert [(one.day, one.counted_ah, one.end_reason) for one in found.tests] == [
        (date(2022, 8, 15), 98.0, EndReason.PROTECTION),
        (date(2023, 8, 12), 94.0, None),
        (date(2024, 8, 31), 92.5, None),
    ]
    assert not found.problems
    assert not found.questions


def test_what_is_no_word_of_the_end_stays_as_a_note():
    (one,) = read("1.3.2022: 98 Ah, 20 °C, fridge\n", Answers()).tests
    assert "20 °C, fridge" in one.notes


@pytest.mark.parametrize("text", ["Aug 2022: 98 Ah\nAug 2023: 40 %\n", "Aug 2023: 40 %\n"])
def test_a_percentage_is_no_capacity(text):
    with pytest.raises(InvalidInput, match=r"“Aug 2023: 40 %” is a percentage.*2024-03-31: 98 Ah"):
        read(text, Answers())


def test_other_lines_are_told_how_to_write_one():
    with pytest.raises(InvalidInput, match="for example: 2024-03-31: 98 Ah"):
        read("Last summer it was fine\n", Answers())


@pytest.mark.parametrize(
    "line", ["3.4.2025 98,9", "Galley battery", "2025-04-03: 98.9 A", "in April: 98.9 Ah"]
)
def test_the_one_line_that_is_otherwise_is_named(line):
    with pytest.raises(InvalidInput, match=f"Line 3 is no test: “{line}”"):
        read(f"14.3.2024 101,2 Ah\n20.9.2024: 100,1 Ah\n{line}\n", Answers())
