from dataclasses import replace
from datetime import date, timedelta

import pytest
from scipy import stats

from app.analysis.evidence.result import analyse_test
from app.analysis.warranty.warranty_claim import ClaimState, claim
from app.analysis.warranty.warranty_report import warranty_report
from app.domain.entities.discharge import ChargeCondition, Discharge
from app.domain.entities.meter import Meter, MeterKind, typical
from tests.builders import at_temperature, discharge_details, steady
from tests.records import AMPS, TODAY, battery, record, report_of, stopped

START = TODAY - timedelta(days=1500)


def covered(**changes):
    terms = {"warranty_share": 0.8, "warranty_from": START, "warranty_years": 5.0}
    return battery(**(terms | changes))


def judged(capacities, of=None, tests=None, **changes):
    of = of or covered()
    tests = tests if tests is not None else record(of, capacities, **changes)
    return claim(of.details, tests, report_of(of, tests).fade, TODAY)


def at(temperature_c, capacity):
    """Readings of a battery at another temperature."""
    made = steady(hours=capacity / AMPS, amps=AMPS, step_h=capacity / AMPS / 20)
    return at_temperature(made, temperature_c)


def test_a_test_well_below_the_promise_carries_a_claim():
    found = judged([90.0, 84.0, 76.0])
    assert found.state is ClaimState.CARRIED
    assert found.probability_below > 0.99
    assert found.promised_ah == pytest.approx(80.0)
    assert found.words.startswith(
        "Yes, as far as a test can: the true capacity is more than 99 % likely below"
    )


def test_a_test_well_above_it_speaks_against_one():
    found = judged([100.0, 97.0, 95.0])
    assert found.state is ClaimState.AGAINST
    assert found.needed_expanded_ah is None


def test_a_value_just_below_the_promise_carries_nothing_yet():
    found = judged([90.0, 85.0, 79.6])
    assert found.state is ClaimState.OPEN
    assert 0.5 < found.probability_below < 0.95
    assert found.words.startswith("Not yet")
    # Sure enough to carry it: the gap is 1.645 standard uncertainties, U about 1.96 of them.
    gap = 80.0 - found.capacity_ah
    assert found.needed_expanded_ah == pytest.approx(gap / 1.645 * 1.96, rel=0.1)
    assert found.needed_expanded_ah < found.expanded_ah


def test_the_chance_falls_as_the_result_rises():
    chances = [judged([90.0, 86.0, last]).probability_below for last in (77, 78, 79, 80, 81, 82)]
    assert chances == sorted(chances, reverse=True)


def test_the_chance_rises_with_the_promise():
    shares = (0.76, 0.78, 0.8, 0.82)
    chances = [judged([79.0], covered(warranty_share=s)).probability_below for s in shares]
    assert chances == sorted(chances)


def test_the_line_through_all_tests_is_student_s():
    of = covered()
    tests = record(of, [90.0, 85.0, 80.5])
    fade = report_of(of, tests).fade
    x = TODAY.toordinal() - fade.first_day
    z = (80.0 - fade.line.at(x)) / fade.line.se_at(x)
    expected = stats.t.cdf(z, fade.line.degrees_of_freedom)
    assert judged([], of, tests).line_below == pytest.approx(expected)


def test_a_lower_bound_below_the_promise_carries_nothing():
    of = covered()
    found = judged([], of, stopped(of, 50.0))
    assert found.state is ClaimState.BOUND_ONLY
    assert "never carry one" in found.words
    assert found.probability_below is None


def test_a_lower_bound_above_the_promise_refutes_the_claim():
    of = covered()
    found = judged([], of, stopped(of, 90.0))
    assert found.state is ClaimState.REFUTED
    assert "at least 89 Ah" in found.words


def test_a_newer_lower_bound_refutes_what_an_older_test_seemed_to_carry():
    of = covered()
    bound = stopped(of, 90.0, days_ago=3)
    older = record(of, [76.0], last_days_ago=300)
    assert judged([], of, [*older, *bound]).state is ClaimState.REFUTED
    newer = record(of, [76.0], last_days_ago=1)
    assert judged([], of, [*bound, *newer]).state is ClaimState.CARRIED


@pytest.mark.parametrize("tests", [[], "left out"])
def test_without_a_test_that_counts_there_is_no_evidence(tests):
    of = covered()
    if tests:
        test, result, meter = record(of, [70.0])[0]
        details = replace(test.details, left_out_reason="wrong load")
        tests = [(replace(test, details=details), result, meter)]
    assert judged([], of, tests).state is ClaimState.NO_TEST


def test_without_a_promised_share_nothing_is_judged():
    assert judged([70.0], covered(warranty_share=None)).state is ClaimState.NO_TERMS


def test_a_test_after_the_last_day_says_nothing_of_the_warranty():
    of = covered(warranty_years=4.0)
    assert of.details.warranty.ends_on < TODAY
    assert judged([], of, record(of, [70.0])).state is ClaimState.NO_TEST


def test_a_cold_test_that_nothing_corrects_carries_nothing():
    of = covered(corrects_temperature=False)
    tests = record(of, [70.0])
    details = replace(tests[0][0].details, readings=at(5.0, 70.0))

    result = analyse_test(details, of.details, tests[0][2].details)
    found = judged([], of, [(replace(tests[0][0], details=details), result, tests[0][2])])
    assert found.state is ClaimState.OBJECTIONS
    assert [one.code for one in found.objections if not one.minor] == ["temperature_cold"]


def test_a_hot_test_just_above_the_promise_refutes_nothing():
    of = covered()
    tests = record(of, [88.0])

    for temperature, state in ((47.0, ClaimState.FLATTERED), (25.0, ClaimState.AGAINST)):
        details = replace(tests[0][0].details, readings=at(temperature, 88.0))
        result = analyse_test(details, of.details, tests[0][2].details)
        found = judged([], of, [(replace(tests[0][0], details=details), result, tests[0][2])])
        assert found.state is state


@pytest.mark.parametrize(
    ("meter", "code"),
    [
        (MeterKind.SHUNT, "meter_typical"),
        (MeterKind.CLAMP, "meter_limits"),
        (MeterKind.GAUGE, "meter_gauge"),
    ],
)
def test_what_a_maker_could_say_of_the_meter(meter, code):
    found = judged([70.0], meter=Meter(4, typical(meter), 1))
    assert code in [one.code for one in found.objections]


def test_a_calibrated_meter_draws_no_objection():
    calibrated = replace(typical(MeterKind.SHUNT), gain_limit_percent=0.4, name="calibrated")
    assert judged([70.0], meter=Meter(4, calibrated, 1)).objections == ()


def test_a_charge_without_rest_is_named():
    found = judged([70.0], charge_condition=ChargeCondition.FULL)
    assert "not_rested" in [one.code for one in found.objections]


def test_a_better_meter_lets_a_higher_result_carry():
    own, calibrated = judged([85.0]).better
    assert own.most_ah < calibrated.most_ah < 80.0
    assert own.expanded_ah > calibrated.expanded_ah
    # What is asked of it carries by the same rule: at most the promise less 1.645 u.
    assert own.most_ah + 1.645 * own.expanded_ah / 1.96 == pytest.approx(80.0, abs=0.2)


def test_the_last_quarter_is_told_before_within_and_after():
    cases = ((6.0, "The last quarter to test is"), (4.25, "Test now"))
    for years, words in cases:
        of = covered(warranty_years=years)
        tests = record(of, [90.0])
        assert words in warranty_report(of, report_of(of, tests), tests).term_words
    of = covered(warranty_years=3.0)
    made = warranty_report(of, report_of(of, []), [])
    assert "too late" in made.term_words
    assert made.ended


def test_the_day_of_a_test_is_the_owner_s():
    assert judged([70.0]).tested_on == date(2026, 11, 15)


@pytest.mark.parametrize(("bought", "state"), [(15, ClaimState.CARRIED), (14, ClaimState.NO_TEST)])
def test_a_test_on_the_last_day_of_the_warranty_counts_and_one_the_day_after_does_not(
    bought, state
):
    # Tested on 15 November 2026: five years from 15 November 2021 end on that day.
    of = covered(warranty_from=date(2021, 11, bought))
    assert judged([76.0], of).state is state


@pytest.mark.parametrize(
    ("rated_hours", "rated", "source"),
    [
        # 30 A drawn, of 100 Ah: what the label says, else a fifth an hour (lithium).
        (10.0, "10 A", "(the label’s rate)"),
        (None, "20 A", "(0.2 of the capacity an hour, IEC 62619)"),
    ],
)
def test_another_load_is_held_against_the_rate_of_the_label_or_of_the_standard(
    rated_hours, rated, source
):
    of = covered(rated_hours=rated_hours)
    readings = steady(hours=2.4, amps=30.0, step_h=0.1)
    details = discharge_details(readings)
    tests = [(Discharge(1, of.id, details, 1), analyse_test(details, of.details, None), None)]
    found = judged([], of=of, tests=tests).objections
    (text,) = [one.text for one in found if one.code.startswith("rate")]
    assert f"at 30 A instead of {rated} {source}" in text


def test_how_sure_a_claim_has_to_be_is_said():
    assert "95 %" in judged([90.0, 85.0, 79.6]).words


def test_a_better_test_is_described_for_the_meter_that_was_used_last():
    of = covered()
    clamp = Meter(7, replace(typical(MeterKind.CLAMP), name="the old clamp"), 1)
    *earlier, (test, result, _) = record(of, [90.0, 85.0], meter=clamp)
    own = judged([], of=of, tests=[*earlier, (test, result, None)]).better[0]
    assert "the old clamp" in own.meter
