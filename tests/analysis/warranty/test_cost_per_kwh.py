from datetime import date, timedelta

import pytest

from app.analysis.warranty.cost_per_kwh import cycles_reached_on, worth
from tests.records import TODAY, battery, record, report_of

SINCE = TODAY - timedelta(days=1461)


def used(**changes):
    values = {"price": 1200.0, "currency": "EUR", "in_service_since": SINCE}
    return battery(**(values | changes))


def valued(capacities=(100.0, 96.0), **changes):
    of = used(**changes)
    tests = record(of, capacities)
    results = [result for _, result, _ in tests]
    return worth(of.details, results, report_of(of, tests).end_of_life, TODAY)


def test_the_cost_so_far_is_the_price_over_the_estimated_use():
    found = valued(drawn_ah_a_week=100.0)
    # 1461 days are 4 years of 365.25 days: 100 Ah x 208.71 weeks, at the tests' mean voltage.
    kwh = 100 * 1461 / 7 * found.mean_v / 1000
    assert found.drawn_kwh == pytest.approx(kwh)
    assert found.so_far.middle == pytest.approx(1200 / kwh)
    assert found.cycles == pytest.approx(100 * 1461 / 7 / 100)


def test_full_discharges_are_of_the_rated_capacity():
    assert valued(full_discharges_a_year=50.0).cycles == pytest.approx(200.0)


def test_the_tests_alone_bound_the_cost_from_above():
    found = valued()
    assert found.so_far.middle is None
    assert found.so_far.high == pytest.approx(1200 / found.tested_kwh)
    # What was counted, less its uncertainty: 196 Ah at some 12.9 V.
    assert 0.97 * 196 * found.mean_v / 1000 < found.tested_kwh < 196 * found.mean_v / 1000
    assert "say what you draw" in found.words


def test_the_mean_voltage_is_energy_over_charge():
    assert 12.0 < valued().mean_v < 13.2


def test_an_estimate_below_what_the_tests_drew_is_left_aside():
    found = valued(drawn_ah_a_week=0.1)
    assert found.drawn_kwh is None
    assert "estimate is left aside" in found.words


def test_without_a_price_there_is_no_cost():
    found = valued(price=None, drawn_ah_a_week=100.0)
    assert found.so_far is None
    assert found.life_cost is None


def test_a_battery_never_drawn_from_costs_nothing_a_kwh():
    assert valued((), drawn_ah_a_week=None).so_far is None


def test_the_whole_life_costs_less_a_kwh_than_the_years_so_far():
    found = valued((100.0, 98.0, 96.0), drawn_ah_a_week=100.0)
    assert found.life_cost.low is None or found.life_cost.low < found.life_cost.middle
    assert found.life_cost.middle < found.life_cost.high
    assert found.life_cost.middle < found.so_far.middle


def test_the_cycles_are_used_up_by_the_estimated_use():
    about = used(full_discharges_a_year=100.0, warranty_cycles=500.0).details
    assert cycles_reached_on(about) == SINCE + timedelta(days=round(5 * 365.25))


@pytest.mark.parametrize(
    "changes",
    [{"warranty_cycles": None}, {"full_discharges_a_year": 0.0}, {"in_service_since": None}],
)
def test_without_use_terms_or_a_first_day_they_are_never_used_up(changes):
    values = {"full_discharges_a_year": 100.0, "warranty_cycles": 500.0}
    assert cycles_reached_on(used(**(values | changes)).details) is None


def test_a_day_in_the_future_gives_no_negative_use():
    found = valued((), in_service_since=date(2026, 11, 25), drawn_ah_a_week=100.0)
    assert found.drawn_kwh == 0
    assert found.so_far is None


def test_the_cost_over_its_life_is_the_price_over_what_it_gives_until_its_end():
    """100 Ah a week are 5,217.9 Ah a year; dear is the early end and cheap the late one."""
    of = used(drawn_ah_a_week=100.0)
    tests = record(of, (100.0, 97.0, 94.0, 91.0))
    end = report_of(of, tests).end_of_life
    found = worth(of.details, [result for _, result, _ in tests], end, TODAY)

    def cost(day):
        years = (day - SINCE).days / 365.25
        return 1200 / (100 * 365.25 / 7 * years * found.mean_v / 1000)

    assert end.p05 < end.p50 < end.p95
    assert found.life_cost.low == pytest.approx(cost(end.p95))
    assert found.life_cost.middle == pytest.approx(cost(end.p50))
    assert found.life_cost.high == pytest.approx(cost(end.p05))
