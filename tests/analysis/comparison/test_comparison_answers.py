"""The figures of a comparison, and of curves: what is not proven is not said."""

from datetime import date

import pytest

from app.analysis.comparison.comparison_answers import comparison_answers
from app.analysis.comparison.comparison_report import (
    Compared,
    compare_around_move,
    compare_batteries,
)
from app.analysis.comparison.curves_answers import curves_answers
from tests.builders import reported

START = date(2024, 6, 1)


def falling(by, name, number, count=8):
    hours = [11.5 - by * i for i in range(count)]
    return reported(hours, number=number, name=name, in_service_since=START)


@pytest.fixture(scope="module")
def three():
    return falling(0.25, "Hot", 1), falling(0.05, "Cool", 2), falling(0.27, "Other", 3)


def answers_of(*reports):
    return comparison_answers(compare_batteries([Compared(one, 91) for one in reports], 1.0))


def test_a_proven_difference_names_the_faster_one_and_each_rate_with_its_interval(three):
    for hot_first in (True, False):
        pair = three[:2] if hot_first else three[1::-1]
        faster, *sides, gap = answers_of(*pair)
        assert (faster.figure, faster.doubt) == ("Hot", "more than 99 % likely")
        assert [one.label for one in sides] == [one.name for one in pair]
        assert all(one.doubt.startswith("very likely ") for one in sides)
        assert gap.figure.endswith(" points a year")
        assert gap.note == "percentage points of rated"
        assert not gap.figure.startswith("−")


def test_what_is_not_proven_is_said_so_with_its_likelihood(three):
    faster = answers_of(three[0], three[2])[0]
    assert faster.figure == "not proven"
    assert faster.doubt.endswith("% likely: Other")
    assert faster.note == "a proof takes 97.5 %"


def test_a_side_without_a_rate_says_why(three):
    faster, _, side = answers_of(three[0], falling(0.1, "New", 4, count=1))
    assert faster.figure == "not known"
    assert (side.figure, side.doubt) == (
        "no rate yet",
        "One measured test: a rate needs at least two.",
    )


def test_of_many_the_fastest_and_the_slowest_are_shown(three):
    pairs, fastest, slowest = answers_of(*three)
    assert pairs.figure == "2 of 3 pairs"
    assert (fastest.label, slowest.label) == ("Other", "Cool")


def test_a_move_that_changed_nothing_proves_no_change(three):
    moved = three[0].tests[3].started_at.date()
    report = compare_around_move(Compared(three[0], 91), moved, 1.0)
    after, _, _, change = comparison_answers(report)
    assert (after.label, after.figure) == ("After the move", "no change proven")
    assert change.label == "Change of rate"


def test_curves_begin_with_the_newest_the_first_and_the_measured_loss(three):
    newest, first, lost = curves_answers(three[0])
    assert (newest.figure, first.figure) == ("87.8 Ah", "103.5 Ah")
    assert newest.doubt.startswith("± ")
    assert lost.doubt.startswith("± ")
    assert len(curves_answers(falling(0.1, "New", 4, count=1))) == 1
    assert curves_answers(reported([], name="None")) == ()
