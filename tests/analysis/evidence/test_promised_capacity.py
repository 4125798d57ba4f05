"""What a result shows of a promised level: never more than its evidence carries."""

import math
from dataclasses import replace
from datetime import date

import pytest

from app.analysis.evidence.promised_capacity import (
    Level,
    PromiseOutcome,
    hold_against,
    threshold_level,
)
from app.analysis.evidence.result import analyse
from app.analysis.evidence.verdict import EarlierTest, chance_short
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.finding import EvidenceKind
from app.domain.threshold import Threshold, ThresholdKind
from tests.builders import steady

FULL = ChargeCondition.FULL_RESTED


def measured():
    """90 Ah with an expanded uncertainty of about 1.4 Ah."""
    found = analyse(steady(), charge_condition=FULL, end_reason=EndReason.PROTECTION, empty_v=12.0)
    assert found.kind is EvidenceKind.MEASURED
    return found


def bound():
    found = analyse(steady(last_v=12.9), charge_condition=FULL, end_reason=EndReason.TIME)
    assert found.kind is EvidenceKind.AT_LEAST
    return found


@pytest.mark.parametrize(
    ("ah", "outcome"),
    [
        (110, PromiseOutcome.MISSED),
        (70, PromiseOutcome.HELD),
        (90, PromiseOutcome.OPEN),
        (90.5, PromiseOutcome.OPEN),
    ],
)
def test_a_measurement_decides_only_where_it_is_sure(ah, outcome):
    claim = hold_against(Level("promise", ah), measured(), ())
    assert claim.outcome is outcome
    assert claim.probability_below is not None


def test_it_decides_just_where_the_normal_distribution_says_95_percent():
    result = measured()
    # 1.645 standard uncertainties hold 95 % on one side (tables of the normal distribution).
    edge = result.capacity_ah + 1.645 * result.budget.standard_ah
    assert hold_against(Level("promise", edge + 0.01), result, ()).outcome is PromiseOutcome.MISSED
    assert hold_against(Level("promise", edge - 0.01), result, ()).outcome is PromiseOutcome.OPEN


def test_a_lower_bound_below_a_level_proves_nothing_about_a_claim():
    claim = hold_against(Level("promise", 200), bound(), ())
    assert claim.outcome is PromiseOutcome.OPEN
    assert claim.probability_below is None
    assert "proves nothing about a claim" in claim.words


def test_a_lower_bound_above_a_level_shows_that_it_is_held():
    result = bound()
    assert hold_against(Level("promise", 50), result, ()).outcome is PromiseOutcome.HELD
    just_above = result.lower_ah + 0.01
    assert hold_against(Level("promise", just_above), result, ()).outcome is PromiseOutcome.OPEN


@pytest.mark.parametrize("ah", [50, 200])
def test_what_nothing_corrects_leaves_every_level_open(ah):
    claim = hold_against(Level("promise", ah), measured(), ("temperature",))
    assert claim.outcome is PromiseOutcome.OPEN
    assert "own temperature" in claim.words


def test_an_unusable_test_shows_nothing():
    result = measured()
    spoilt = replace(result, evidence=replace(result.evidence, kind=EvidenceKind.UNUSABLE))
    assert hold_against(Level("promise", 200), spoilt, ()).outcome is PromiseOutcome.OPEN


def test_a_share_of_the_first_test_carries_its_uncertainty():
    threshold = Threshold(ThresholdKind.FIRST_TEST, "80 % of the first test", share=0.8)
    first = EarlierTest(date(2024, 1, 1), 110.0, 2.0, 1.0, same_meter=True)
    level = threshold_level(threshold, first)
    assert level is not None
    assert level.ah == pytest.approx(88.0)
    result = measured()
    found = hold_against(level, result, ()).probability_below
    # 0.8 of the first test's own 1.0 Ah beside the test's own.
    doubt = math.hypot(result.budget.independent_ah, 0.8)
    assert found == pytest.approx(chance_short(88.0 - result.capacity_ah, doubt))
    other = threshold_level(threshold, replace(first, same_meter=False))
    assert other is not None
    assert found < hold_against(other, result, ()).probability_below < 0.5


def test_a_share_of_a_first_test_that_is_not_there_is_no_level():
    threshold = Threshold(ThresholdKind.FIRST_TEST, "80 % of the first test", share=0.8)
    assert threshold_level(threshold, None) is None
