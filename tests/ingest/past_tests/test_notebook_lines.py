"""Lines of a notebook without headings come in, with questions and no guesses."""

from datetime import date

import pytest

from app.domain.entities.discharge import ChargeCondition, EndReason
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


def test_each_line_says_how_it_ended_whatever_the_others_hold():
    text = """12.9.2024 - 77,8Ah, abgebrochen wegen Gewitter
1.6.2025   86,4 Ah Gasherd aus, Zeit war um
5.8.2025: 96 Ah, 18 Grad
6.8.2025: 95,5 Ah nicht voll geladen, Abbruch nach 9 h
7.8.2025: 95,5 Ah, Ruhespannung 13,3 V
"""
    found = read(text, Answers())
    assert [one.end_reason for one in found.tests] == [None, EndReason.TIME, None, None, None]
    assert [one.notes for one in found.tests] == [
        "",
        "Gasherd aus",
        "18 Grad",
        "",
        "Ruhespannung 13,3 V",
    ]
    assert found.tests[3].charge_condition is ChargeCondition.NOT_FULL
    asked = [one.words for one in found.questions]
    assert "“abgebrochen wegen Gewitter”" in asked[0]
    assert "“Abbruch nach 9 h”" in asked[1]
    assert len(asked) == 2


@pytest.mark.parametrize("note", ["Abgebrochen wegen Gewitter", "aborted by rain at 4 h"])
def test_a_note_that_speaks_of_the_end_is_asked_about(note):
    table = f"Date\tAh\tNotes\n2024-03-31\t98 Ah\t{note}\n2025-03-31\t95 Ah\twarm\n"
    (asked,) = read(table, Answers()).questions
    assert f"why the test ended: what does “{note}” mean?" in asked.words
    first, second = read(table, Answers(words={asked.name: "time"})).tests
    assert (first.end_reason, second.end_reason) == (EndReason.TIME, None)
    assert first.notes == note


@pytest.mark.parametrize("words", ["abgebrochen, BMS noch an", "not to the cut-off voltage"])
def test_words_that_deny_an_empty_battery_are_asked_about(words):
    (asked,) = read(f"3.4.2025 98 Ah, {words}\n", Answers()).questions
    assert words in asked.words


def test_all_lines_that_are_no_tests_are_named():
    text = (
        "Aug 2023 101 Ah BMS\nbroken off by rain\n1.6.2025   96,4 Ah BMS\n2.6.2025 96 Ah\nGalley\n"
    )
    with pytest.raises(InvalidInput) as refused:
        read(text, Answers())
    assert [one.sentence[:14] for one in refused.value.problems] == [
        "Line 2 is no t",
        "Line 5 is no t",
    ]


@pytest.mark.parametrize("noted", ["noch 95 %", "still about 95%", "noch ca. 95 %", "etwa 95,5 %"])
def test_a_percentage_with_a_word_before_it_is_explained(noted):
    with pytest.raises(InvalidInput, match=r"is a percentage.*or leave the line out"):
        read(
            f"3.4.2024 98,9 Ah\n4.4.2024 98,9 Ah\nApr 2025: {noted}\nGalley\n5.4.2024 8 Ah\n",
            Answers(),
        )


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
