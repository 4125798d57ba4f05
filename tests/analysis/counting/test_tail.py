"""The end of a battery that switched itself off while nobody looked."""

from dataclasses import replace

import pytest

from app.analysis.counting.tail import most_left_ah
from app.analysis.evidence.result import analyse_test
from app.domain.chemistry import Chemistry
from app.domain.entities.discharge import EndReason
from app.domain.entities.meter import MeterDetails, MeterKind
from tests.builders import battery_details, discharge_details, steady

METER = MeterDetails("m", MeterKind.LABORATORY, 0.1, 0.0, 0.0)
LFP = battery_details()


def result(last_v, step_h=1.0, battery=LFP, **changes):
    details = discharge_details(steady(last_v=last_v, step_h=step_h), **changes)
    return analyse_test(details, battery, METER)


def line(found, code):
    return next((one for one in found.budget.lines if one.code == code), None)


# Share of the capacity below a cell's voltage and twice its standard uncertainty, per cent.
@pytest.mark.parametrize(
    ("cell_v", "share", "doubt"),
    [(3.0, 3.7, 1.1), (2.9, 2.1, 0.7), (2.8, 1.1, 0.4), (2.7, 0.5, 0.2), (2.5, 0.0, 0.0)],
)
def test_what_is_left_at_a_voltage_is_what_measured_cells_had_left(cell_v, share, doubt):
    assert most_left_ah(LFP, 4 * cell_v, 9.0) == pytest.approx(share + 2 * doubt)


def test_a_faster_load_leaves_more_and_a_larger_battery_too():
    # 0.2 of the capacity per hour: 4.3 % below 3.0 V with a standard uncertainty of 1.3.
    assert most_left_ah(LFP, 12.0, 20.0) == pytest.approx(6.9)
    assert most_left_ah(LFP, 12.0, 15.0) == pytest.approx((5.9 + 6.9) / 2)
    assert most_left_ah(replace(LFP, rated_ah=200.0), 12.0, 18.0) == pytest.approx(11.8)


def test_what_may_have_been_left_enters_value_and_doubt_on_a_line_of_its_own():
    # Hourly at 9 A, last at 11.6 V (2.9 V a cell): up to 3.5 Ah of the 9 Ah to the next reading.
    found = result(11.6)
    assert found.end.shift_ah == found.end.limit_ah == pytest.approx(1.75)
    assert found.capacity_ah == pytest.approx((90 + 1.75) * found.corrections[0].factor)
    tail = line(found, "tail")
    assert tail.standard_ah == pytest.approx(1.75 / 3**0.5)
    assert tail.label == "left after the last reading"
    assert "up to 3.5 Ah may have been left" in tail.note
    assert line(found, "end") is None


def test_no_more_may_have_been_left_than_a_usual_interval_holds():
    # Every quarter of an hour 2.25 Ah.
    assert result(11.6, step_h=0.25).end.shift_ah == pytest.approx(1.125)


@pytest.mark.parametrize(
    "changes",
    [{"ended_after_h": 10.2}, {"end_reason": EndReason.UNKNOWN}],
    ids=["noted", "not said to have switched off"],
)
def test_nothing_is_added_where_it_was_noted_or_did_not_switch_itself_off(changes):
    found = result(11.6, **changes)
    assert found.end.shift_ah == 0
    assert line(found, "tail") is None


def test_another_chemistry_keeps_its_limit():
    agm = battery_details(chemistry=Chemistry.AGM, nominal_v=12.0)
    found = result(10.4, battery=agm)
    assert found.end.shift_ah == 0
    assert found.end.limit_ah == pytest.approx(0.9)


def test_a_lower_bound_gets_nothing_added():
    found = result(12.6)
    assert found.capacity_ah == found.delivered.charge_ah


def test_noting_the_minute_is_advised_with_its_gain_where_it_helps_most():
    found = result(11.6)
    (advice,) = [one for one in found.evidence.next_time if one.code == "note_minute"]
    noted = result(11.6, ended_after_h=10.0)
    assert f"± {noted.budget.expanded_ah:.1f} Ah instead of" in advice.text
    assert f"instead of ± {found.budget.expanded_ah:.1f} Ah" in advice.text
    assert noted.budget.expanded_ah < found.budget.expanded_ah / 2


def test_it_is_not_advised_where_something_else_is_worse_or_it_was_noted():
    details = discharge_details(steady(last_v=11.6))
    clamp = MeterDetails("m", MeterKind.CLAMP, 3.0, 0.3, 0.1)
    assert analyse_test(details, LFP, clamp).evidence.next_time == ()
    assert result(11.6, ended_after_h=10.0).evidence.next_time == ()
    assert result(11.6, end_reason=EndReason.UNKNOWN).evidence.next_time == ()
