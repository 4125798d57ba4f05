"""The figures of the nights: each with its doubt, and never more than is known."""

from datetime import date
from types import SimpleNamespace

import pytest

from app.analysis.nights.nights_answers import nights_answers
from app.analysis.nights.nights_end import NightsEnd
from app.analysis.nights.nights_report import RoadWish, road_report
from tests.records import battery, record, report_of, stopped

FADING = (100.0, 98.6, 97.1, 95.4, 93.9)


def answers_of(capacities=FADING, tests=None, wish=None, **changes):
    of = battery(**changes)
    known = tests(of) if tests else record(of, capacities) if capacities else []
    report = road_report(of, report_of(of, known), wish or RoadWish())
    return report, nights_answers(report)


def test_without_a_use_it_is_said_what_is_needed():
    _, answers = answers_of(daily_use_ah=None)
    assert [(one.figure, one.doubt) for one in answers] == [("not known", "say what a day draws")]


def test_measured_nights_have_their_interval_and_those_to_count_on():
    report, answers = answers_of()
    nights = report.now.nights
    assert answers[0].figure == f"{nights.middle:.1f} nights"
    assert answers[0].doubt.startswith("9 in 10: ")
    assert answers[0].doubt.endswith(f"{nights.high:.2f}")
    assert answers[0].note == f"count on {report.now.sure} whole nights"


def test_a_lower_bound_and_a_label_promise_no_night_ahead():
    _, (bound, *_) = answers_of(tests=lambda of: stopped(of, 60.0))
    assert bound.figure.startswith("at least ")
    assert bound.doubt == "very likely, on the day of the test"
    _, (label, *_) = answers_of(capacities=())
    assert label.doubt == "by the label alone"
    assert bound.note == label.note == ""


def test_there_are_four_at_most_and_a_day_asked_for_is_among_them():
    _, answers = answers_of(
        wish=RoadWish(date(2029, 6, 1), 2), charge_ah_a_day=30.0, cold_week_c=-10.0
    )
    labels = [one.label for one in answers]
    assert labels == ["Without charging", "On 1 Jun 2029", "In a cold week", "2 nights work until"]
    _, answers = answers_of(charge_ah_a_day=30.0)
    assert (answers[1].figure, answers[1].doubt) == ("no end", "as long as the charging lasts")


@pytest.mark.parametrize(
    ("dates", "chance", "figure", "doubt"),
    [
        ((None, None, None), 0.3, "probably no longer", "70 % likely too little today"),
        ((None, None, None), 1.0, "beyond 2040", "very likely; what comes later is not known"),
        ((None, None, None), 0.9, "beyond 2040", "1 in 2; 90 % likely to work today"),
        (
            (date(2029, 3, 1), None, None),
            0.96,
            "not before early 2029",
            "very likely; how much later is not known",
        ),
        (
            (date(2029, 3, 1), date(2033, 5, 1), None),
            0.96,
            "mid 2033",
            "9 in 10: from early 2029 on; latest not known",
        ),
        (
            (None, date(2033, 5, 1), date(2037, 1, 1)),
            0.9,
            "mid 2033",
            "9 in 10: now to early 2037",
        ),
    ],
)
def test_until_when_they_work_has_only_the_bounds_that_there_are(dates, chance, figure, doubt):
    end = NightsEnd("without charging", 2.0, 50.0, *dates, chance, date(2040, 6, 30))
    (answer,) = nights_answers(SimpleNamespace(use_ah=25.0, situations=(), ends=(end,)))
    assert (answer.figure, answer.doubt) == (figure, doubt)
    assert answer.now == (chance < 0.5)
