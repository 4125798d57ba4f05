import pytest

from app.analysis.budget import Contribution, combine
from app.analysis.expectation import probability_below, verdict
from app.domain.finding import Kind


def budget(standard=2.0):
    return combine((Contribution("x", "x", "x", standard),))


def test_half_the_chance_lies_below_the_measured_value():
    assert probability_below(100, 100, budget()) == pytest.approx(0.5)


def test_one_standard_uncertainty_above_is_84_percent():
    assert probability_below(98, 100, budget()) == pytest.approx(0.8413, abs=1e-3)
    assert verdict(Kind.MEASURED, 98, budget(), "rated", 100).words == "84 % likely below rated"


def test_a_lower_bound_says_nothing_against_the_label():
    found = verdict(Kind.AT_LEAST, 80, budget(), "rated", 100)
    assert found.probability_below is None
    assert "cannot be told" in found.words


def test_a_lower_bound_above_the_label_clears_it():
    assert "at least rated" in verdict(Kind.AT_LEAST, 110, budget(), "rated", 100).words


def test_words_never_say_certain():
    assert "more than 99 %" in verdict(Kind.MEASURED, 50, budget(), "rated", 100).words
    assert "less than 1 %" in verdict(Kind.MEASURED, 150, budget(), "rated", 100).words
