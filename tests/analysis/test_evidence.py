import pytest

from app.analysis.result import analyse
from app.domain.discharge import ChargeCondition, EndReason
from app.domain.finding import Kind
from tests.builders import steady

EMPTY_V = 12.0


def kind(last_v, end, charge=ChargeCondition.FULL_RESTED, **more):
    readings = steady(last_v=last_v)
    result = analyse(readings, charge_condition=charge, end_reason=end, empty_v=EMPTY_V, **more)
    assert result.evidence.reasons
    return result.kind


@pytest.mark.parametrize(
    ("last_v", "end", "charge", "expected"),
    [
        # Full to empty, and the voltage shows it.
        (10.0, EndReason.PROTECTION, ChargeCondition.FULL_RESTED, Kind.MEASURED),
        # Nobody said why it ended, but the voltage did.
        (11.0, EndReason.UNKNOWN, ChargeCondition.FULL, Kind.MEASURED),
        # Stopped early.
        (13.0, EndReason.TIME, ChargeCondition.FULL, Kind.AT_LEAST),
        (13.0, EndReason.GAUGE_RESERVE, ChargeCondition.FULL, Kind.AT_LEAST),
        (13.0, EndReason.LOAD, ChargeCondition.FULL, Kind.AT_LEAST),
        # Said to be empty at a voltage where it cannot have been.
        (13.0, EndReason.PROTECTION, ChargeCondition.FULL, Kind.AT_LEAST),
        (13.0, EndReason.CUT_OFF_VOLTAGE, ChargeCondition.FULL, Kind.AT_LEAST),
        # Empty at the end, but who knows how full at the start.
        (10.0, EndReason.PROTECTION, ChargeCondition.NOT_FULL, Kind.AT_LEAST),
        (10.0, EndReason.PROTECTION, ChargeCondition.UNKNOWN, Kind.AT_LEAST),
    ],
)
def test_the_end_and_the_start_decide_what_is_proven(last_v, end, charge, expected):
    assert kind(last_v, end, charge) is expected


def test_a_cut_off_between_readings_is_believed_where_its_moment_was_noted():
    assert kind(12.6, EndReason.PROTECTION, ended_after_h=10.7) is Kind.MEASURED


def test_reaching_the_cut_off_voltage_is_a_measurement():
    assert kind(11.4, EndReason.UNKNOWN, cut_off_v=11.5) is Kind.MEASURED
