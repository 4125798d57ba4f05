"""A result that was noted without readings: the same rules, a wider doubt, line by line."""

import math

import pytest

from app.analysis.evidence.result import analyse_test
from app.domain.chemistry import Chemistry
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.errors import InvalidInput
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings
from tests.builders import battery_details, discharge_details, steady

NONE = Readings.of([], [])
METER = MeterDetails("shunt", MeterKind.SHUNT, 1.0, 0.1, 0.02)
# Nothing is corrected, so that every figure can be worked out by hand.
ABOUT = battery_details(corrects_temperature=False, corrects_rate=False)


def noted(about=ABOUT, **changes):
    details = discharge_details(NONE, **({"counted_ah": 96.4} | changes))
    return analyse_test(details, about, METER)


def lines(result):
    return {line.code: line.standard_ah for line in result.budget.lines}


MEASURED, AT_LEAST, UNUSABLE = EvidenceKind.MEASURED, EvidenceKind.AT_LEAST, EvidenceKind.UNUSABLE


@pytest.mark.parametrize(
    ("changes", "kind", "reason"),
    [
        # "I reset the counter, ran it till it cut off and read 96.4 Ah."
        ({}, MEASURED, "said_empty"),
        ({"last_voltage_v": 10.4}, MEASURED, "empty_voltage"),
        ({"last_voltage_v": 12.9}, AT_LEAST, "voltage_contradicts"),
        ({"end_reason": EndReason.TIME}, AT_LEAST, "stopped_early"),
        ({"end_reason": EndReason.UNKNOWN}, AT_LEAST, "stopped_early"),
        ({"end_reason": EndReason.GAUGE_RESERVE}, AT_LEAST, "stopped_early"),
        ({"end_reason": EndReason.CUT_OFF_VOLTAGE}, AT_LEAST, "no_voltage"),
        ({"end_reason": EndReason.CUT_OFF_VOLTAGE, "last_voltage_v": 10.0}, MEASURED,
         "empty_voltage"),
        # Low, but under which load? A heavy one pulls it down before the battery is empty.
        ({"end_reason": EndReason.LOAD, "last_voltage_v": 10.0}, AT_LEAST, "voltage_sags"),
        ({"end_reason": EndReason.LOAD, "last_voltage_v": 10.0, "duration_h": 1.5}, AT_LEAST,
         "voltage_sags"),
        ({"end_reason": EndReason.LOAD, "last_voltage_v": 10.0, "duration_h": 11.0}, MEASURED,
         "empty_voltage"),
        ({"charge_condition": ChargeCondition.UNKNOWN}, AT_LEAST, "not_full"),
        ({"charge_condition": ChargeCondition.NOT_FULL}, AT_LEAST, "not_full"),
        ({"counted_ah": 4.0}, UNUSABLE, "too_short"),
        ({"counted_ah": 964.0}, UNUSABLE, "more_than_possible"),
    ],
)  # fmt: skip
def test_it_proves_what_a_test_with_readings_would(changes, kind, reason):
    result = noted(**changes)
    assert result.kind is kind
    assert reason in [one.code for one in result.evidence.reasons]
    assert result.evidence.next_time[-1].code == "note_readings"


def test_each_line_of_its_doubt_by_hand():
    found = lines(noted(duration_h=10.0, mean_current_a=9.6, last_voltage_v=10.4))
    third = math.sqrt(3)
    assert found == pytest.approx(
        {
            # 1 % of 96.4 Ah; 0.1 A and half of 0.02 A for 10 h; the clock 0.1 %.
            "gain": 0.964 / third,
            "offset": 1.0 / third,
            "resolution": 0.1 / third,
            "clock": 0.0964 / third,
            # 96.4 was noted to 0.1 Ah; hours and load were noted, too: 1.5 % may have been missed.
            "counter": 0.1 / third,
            "unseen_load": 1.446 / third,
            # The last voltage was seen: 2 %. Charged full and rested: 0.5 %.
            "end": 1.928 / third,
            "charge": 0.482 / third,
        }
    )


def test_what_nobody_noted_makes_it_wider():
    found = lines(noted())
    third = math.sqrt(3)
    # 24 h instead of 10, 3 % instead of 1.5, 4 % instead of 2.
    assert found["offset"] == pytest.approx(2.4 / third)
    assert found["unseen_load"] == pytest.approx(2.892 / third)
    assert found["end"] == pytest.approx(3.856 / third)
    by_energy = lines(noted(counted_ah=None, counted_wh=1205.0, mean_voltage_v=12.5))
    # 2 % of 96.4 Ah for the voltage that somebody chose; 1 Wh is 0.08 Ah.
    assert by_energy["mean_voltage"] == pytest.approx(1.928 / third)
    assert by_energy["counter"] == pytest.approx(0.08 / third)


def test_it_is_never_surer_than_the_same_test_with_its_readings():
    readings = steady(hours=10.0, amps=9.64, step_h=0.25)
    full = analyse_test(discharge_details(readings), ABOUT, METER)
    best = noted(duration_h=10.0, mean_current_a=9.64, last_voltage_v=10.0)
    assert full.kind is best.kind is MEASURED
    assert best.budget.expanded_ah > full.budget.expanded_ah
    assert noted().budget.expanded_ah > best.budget.expanded_ah


def test_a_lower_bound_has_no_end_and_no_charge_to_doubt():
    assert not {"end", "charge"} & lines(noted(end_reason=EndReason.TIME)).keys()


def test_a_load_that_nobody_noted_is_doubted_where_it_would_be_corrected():
    # Wet lead-acid, 100 Ah over 20 h, exponent 1.4: in 5 h (20 A) it gives 4^-0.4 of that.
    about = battery_details(
        chemistry=Chemistry.FLOODED, nominal_v=12.0, rated_hours=20.0, corrects_temperature=False
    )
    unknown = noted(about, counted_ah=60.0)
    assert lines(unknown)["unseen_current"] == pytest.approx(
        60.0 * (4**0.4 - 1) / math.sqrt(3), rel=0.01
    )
    known = noted(about, counted_ah=60.0, mean_current_a=12.0)
    assert "unseen_current" not in lines(known)
    assert known.capacity_ah > 60.0


def test_a_result_beside_readings_is_refused():
    with pytest.raises(InvalidInput, match="readings and a noted result"):
        analyse_test(discharge_details(steady(), counted_ah=96.4), ABOUT, METER)


def test_the_air_s_temperature_counts_as_such():
    about = battery_details(rated_temperature_c=25.0)
    result = noted(about, ambient_c=10.0)
    assert (result.temperature_c, result.temperature_source) == (10.0, "air")
    assert result.capacity_ah > 96.4
    assert noted(about).temperature_source == ""


def test_what_corrections_add_never_makes_it_impossible():
    about = battery_details(rated_temperature_c=25.0)
    beyond = noted(about, counted_ah=118.0, ambient_c=-20.0)
    assert beyond.kind is AT_LEAST
    assert beyond.capacity_ah == pytest.approx(118.0)


def test_where_no_voltage_was_noted_none_is_said_to_agree():
    (reason,) = noted().evidence.reasons
    assert reason.text.endswith("; the voltage at the end was not noted.")
