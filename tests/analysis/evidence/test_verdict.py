import math
from datetime import date

import pytest

from app.analysis.evidence.result import analyse
from app.analysis.evidence.verdict import (
    EarlierTest,
    against_first,
    chance_short,
    probability_below,
    since,
    verdict,
    verdicts,
)
from app.analysis.statistics.budget import combine, estimated, within
from app.domain.entities.discharge import EndReason
from app.domain.finding import EvidenceKind
from tests.builders import steady


def budget(standard=2.0):
    return combine((estimated("x", "x", standard, "Ah", 1.0),))


def test_half_the_chance_lies_below_the_measured_value():
    assert probability_below(100, 100, budget()) == pytest.approx(0.5)


def test_one_standard_uncertainty_above_is_84_percent():
    assert probability_below(98, 100, budget()) == pytest.approx(0.8413, abs=1e-3)
    assert (
        verdict(EvidenceKind.MEASURED, 98, budget(), "rated", 100).words
        == "84 % likely below rated"
    )


def test_few_degrees_of_freedom_make_it_less_likely():
    weak = combine((estimated("x", "x", 2.0, "Ah", 1.0, degrees_of_freedom=2),))
    # Student's t with 2 degrees of freedom at 1: 0.7887 (tables).
    assert probability_below(98, 100, weak) == pytest.approx(0.7887, abs=1e-4)


def test_a_lower_bound_says_nothing_against_the_label():
    found = verdict(EvidenceKind.AT_LEAST, 80, budget(), "rated", 100)
    assert found.probability_below is None
    assert "cannot say how much more" in found.words


def test_a_lower_bound_above_the_label_clears_it():
    assert "more than rated" in verdict(EvidenceKind.AT_LEAST, 110, budget(), "rated", 100).words


def test_a_lower_bound_promises_the_count_less_its_uncertainty():
    found = verdict(EvidenceKind.AT_LEAST, 80, budget(), "rated", 100)
    assert budget().expanded_ah == pytest.approx(3.92, abs=0.01)
    assert "at least 76 % of rated;" in found.words
    assert found.share == pytest.approx(0.7608, abs=1e-4)


def test_a_lower_bound_is_never_rounded_up():
    count = 79.99 + budget().expanded_ah
    assert "at least 79 %" in verdict(EvidenceKind.AT_LEAST, count, budget(), "rated", 100).words


def test_a_count_above_the_label_by_less_than_its_uncertainty_does_not_clear_it():
    found = verdict(EvidenceKind.AT_LEAST, 103.5, budget(), "rated", 100)
    assert found.probability_below is None
    assert "at least 99 %" in found.words


def test_words_never_say_certain():
    assert "more than 99 %" in verdict(EvidenceKind.MEASURED, 50, budget(), "rated", 100).words
    assert "less than 1 %" in verdict(EvidenceKind.MEASURED, 150, budget(), "rated", 100).words


def measured():
    return analyse(steady(), end_reason=EndReason.PROTECTION, empty_v=12.0)


def test_the_label_the_reserve_and_the_first_test_each_get_a_verdict():
    first = EarlierTest(date(2024, 1, 1), 100.0, 1.0, 0.5, True)
    against = [one.against for one in verdicts(measured(), 100, 80, first)]
    assert against[0] == "the rated 100 Ah"
    assert "less the reserve" in against[1]
    assert "first test" in against[2]
    assert len(verdicts(measured(), 100, 100, None)) == 1


def test_the_same_meter_makes_the_difference_surer():
    close = measured().capacity_ah + 1.0
    same = against_first(measured(), EarlierTest(date(2024, 1, 1), close, 1.0, 0.5, True))
    other = against_first(measured(), EarlierTest(date(2024, 1, 1), close, 1.0, 0.5, False))
    assert same.probability_below > other.probability_below > 0.5


def test_the_shared_gain_is_left_out_of_the_difference():
    wide = combine(
        (
            within("gain", "", 5.0, "Ah", 1.0, common=True),
            within("x", "", 0.5, "Ah", 1.0),
        )
    )
    assert wide.independent_ah < 0.3 < wide.standard_ah


@pytest.mark.parametrize(("missing_ah", "chance"), [(-0.5, 0.0), (0.0, 0.5), (0.5, 1.0)])
def test_a_value_that_is_exact_is_short_or_it_is_not(missing_ah, chance):
    assert chance_short(missing_ah, 0.0) == chance


def before(ah, *, same_meter=True):
    return EarlierTest(date(2024, 1, 1), ah, 1.0, 0.5, same_meter)


def test_a_change_within_the_doubt_of_both_tests_says_so():
    now = measured()
    assert "less than on 1 Jan 2024, within the doubt" in since(now, before(now.capacity_ah + 0.5))
    assert "more than on 1 Jan 2024, within the doubt" in since(now, before(now.capacity_ah - 0.5))


def test_a_clear_change_has_its_interval_by_hand():
    now = measured()
    said = since(now, before(now.capacity_ah + 10))
    # No line of either budget limits the degrees of freedom here: 1.96 standard uncertainties.
    assert now.budget.degrees_of_freedom is None
    doubt = 1.96 * math.hypot(now.budget.independent_ah, 0.5)
    assert said == (
        f"10.0 Ah less than on 1 Jan 2024; very likely {10 - doubt:.1f} to {10 + doubt:.1f} Ah less"
    )
    assert "Ah more" in since(now, before(now.capacity_ah - 10))


def test_another_meter_widens_the_doubt_of_a_change():
    now = measured()
    lost = 1.96 * math.hypot(now.budget.independent_ah, 0.5) + 0.01
    assert "very likely" in since(now, before(now.capacity_ah + lost))
    assert "within the doubt" in since(now, before(now.capacity_ah + lost, same_meter=False))


def test_a_lower_bound_is_never_called_a_change():
    bound = analyse(steady(hours=5, last_v=12.9), end_reason=EndReason.TIME, empty_v=10.0)
    assert since(bound, before(88.0)) == "the measured test before it gave 88.0 Ah on 1 Jan 2024"
