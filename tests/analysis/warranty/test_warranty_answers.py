"""The figures of a warranty: whether it is carried, by what, until when, at which cost."""

import re
from datetime import timedelta

import pytest

from app.analysis.warranty.warranty_answers import warranty_answers
from app.analysis.warranty.warranty_report import warranty_report
from tests.records import TODAY, battery, record, report_of, stopped

START = TODAY - timedelta(days=1500)


def answers_of(capacities=(), tests=None, **changes):
    terms = {"warranty_share": 0.8, "warranty_from": START, "warranty_years": 5.0, "price": None}
    of = battery(**(terms | changes))
    known = tests(of) if tests else record(of, capacities) if capacities else []
    return warranty_answers(warranty_report(of, report_of(of, known), known))


@pytest.mark.parametrize(
    ("made", "figure", "doubt"),
    [
        ({"warranty_share": None}, "no terms yet", "no promised capacity entered"),
        ({}, "no evidence yet", "80 Ah are promised"),
        ({"tests": lambda of: stopped(of, 60.0)}, "no evidence yet", "80 Ah are promised"),
        ({"tests": lambda of: stopped(of, 95.0)}, "no", "80 Ah are promised"),
        ({"capacities": (100.0, 97.0, 95.0)}, "no", "less than 1 % likely below the promised"),
        ({"capacities": (90.0, 84.0, 76.0)}, "yes", "more than 99 % likely below the promised"),
    ],
)
def test_whether_a_claim_is_carried_has_its_likelihood_or_the_promise(made, figure, doubt):
    claim = answers_of(**made)[0]
    assert claim.figure == figure
    assert claim.doubt.startswith(doubt)
    assert claim.now == (figure == "yes")


def test_a_claim_that_comes_too_late_asks_for_nothing():
    claim, _, ends = answers_of((90.0, 84.0, 76.0), warranty_years=4.1)
    assert (claim.figure, claim.now) == ("yes", False)
    assert ends.label == "Warranty ended"


def test_the_test_that_decides_has_its_uncertainty():
    _, test, _ = answers_of((90.0, 84.0, 76.0))
    assert test.figure == "76.0 Ah"
    assert test.doubt.startswith("± ")
    assert test.doubt.endswith(" Ah, very likely")
    _, bound, _ = answers_of(tests=lambda of: stopped(of, 95.0))
    assert bound.figure.startswith("at least 9")


@pytest.mark.parametrize(
    ("years", "doubt", "now"), [(4.2, "test now", True), (10.0, "test from ", False)]
)
def test_the_last_quarter_asks_for_a_test(years, doubt, now):
    ends = answers_of(warranty_years=years)[1]
    assert ends.label == "Warranty ends"
    assert ends.doubt.startswith(doubt)
    assert ends.now is now


def test_the_price_over_the_few_kwh_of_the_tests_is_no_cost_of_use():
    cost = answers_of((100.0, 98.0), price=500.0, currency="EUR")[-1]
    assert cost.figure == "not known"
    assert cost.doubt == "it is not known how much was drawn"
    used = {"drawn_ah_a_week": 200.0, "in_service_since": START}
    estimate = answers_of((100.0, 98.0), price=500.0, currency="EUR", **used)[-1]
    assert estimate.figure.endswith(" EUR a kWh")
    assert re.fullmatch(r"very likely at most [0-9.]+ EUR a kWh", estimate.doubt)
    assert estimate.note == "by your estimate of the use"
    assert answers_of(price=500.0)[-1].figure == "not known"
