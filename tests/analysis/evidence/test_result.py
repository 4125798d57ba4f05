"""What a result makes of its corrections: a lower bound never grows by one."""

import math

import pytest

from app.analysis.evidence.result import analyse
from app.domain.chemistry import Chemistry
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings
from tests.builders import battery_details

# Wet lead-acid of 100 Ah over 20 h, so at 5 A, and 25 °C; 0.7 % a kelvin, exponent 1.4.
ABOUT = battery_details(
    chemistry=Chemistry.FLOODED, nominal_v=12.0, rated_hours=20.0, rated_temperature_c=25.0
)


def drawn(amps, celsius, *, hours=10, end=EndReason.TIME, ambient_c=None):
    last_v = 10.0 if end is EndReason.PROTECTION else 12.0
    readings = Readings.of(
        [3600.0 * i for i in range(hours + 1)],
        [amps] * (hours + 1),
        [12.6] * hours + [last_v],
        [celsius] * (hours + 1),
    )
    return analyse(
        readings,
        charge_condition=ChargeCondition.FULL_RESTED,
        end_reason=end,
        empty_v=ABOUT.empty_v,
        ambient_c=ambient_c,
        rated_ah=100.0,
        battery=ABOUT,
    )


def line(result, code):
    return next((one for one in result.budget.lines if one.code == code), None)


@pytest.mark.parametrize(
    ("amps", "celsius", "bound_ah"),
    [
        # In the cold it would have given more warm: 50 Ah / (1 - 0.07) is 53.8, and is not claimed.
        (5.0, 15.0, 50.0),
        # In the heat it gave more than the label means: 50 Ah / (1 + 0.07) = 46.73.
        (5.0, 35.0, 50.0 / 1.07),
        # Twice the label's current takes less out: 100 Ah × 2^0.4 is 132, and is not claimed.
        (10.0, 25.0, 100.0),
        # Half of it takes more out: 25 Ah × 0.5^0.4 = 18.95.
        (2.5, 25.0, 25.0 * 0.5**0.4),
        # One of each: the heat lowers the bound, the current does not raise it again.
        (10.0, 35.0, 100.0 / 1.07),
        (2.5, 15.0, 25.0 * 0.5**0.4),
    ],
)
def test_a_lower_bound_is_lowered_by_a_correction_and_never_raised(amps, celsius, bound_ah):
    result = drawn(amps, celsius)
    assert result.kind is EvidenceKind.AT_LEAST
    assert result.capacity_ah == pytest.approx(bound_ah)


def test_a_measured_capacity_is_corrected_both_ways():
    for celsius, factor in ((15.0, 1 / 0.93), (35.0, 1 / 1.07)):
        result = drawn(5.0, celsius, hours=16, end=EndReason.PROTECTION)
        assert result.kind is EvidenceKind.MEASURED
        assert result.capacity_ah == pytest.approx(80.0 * factor)


def test_a_correction_that_lowers_a_bound_is_doubted_and_one_that_does_not_count_is_not():
    hot, cold = drawn(5.0, 35.0), drawn(5.0, 15.0)
    # 0.004 a kelvin over 10 K of 46.73 Ah / 1.07 within a rectangle: 1.0086 Ah. The battery's own
    # temperature within 2 K: 0.007 × 2 / 1.07 × 46.73 / sqrt(3) = 0.3530 Ah.
    assert line(hot, "temperature_coefficient").standard_ah == pytest.approx(1.0086, abs=5e-5)
    assert line(hot, "temperature_reading").standard_ah == pytest.approx(0.3530, abs=5e-5)
    assert line(cold, "temperature_coefficient") is line(cold, "temperature_reading") is None


def test_the_air_s_temperature_is_doubted_by_five_kelvin():
    # 0.007 × 5 / 1.07 × 46.73 / sqrt(3).
    air = drawn(5.0, None, ambient_c=35.0)
    assert line(air, "temperature_reading").standard_ah == pytest.approx(
        0.035 / 1.07 * (50 / 1.07) / math.sqrt(3)
    )


def test_corrections_never_lead_to_a_capacity_that_no_such_battery_has():
    # 95 Ah to empty in the cold: at 2 °C they would be 95 / (1 - 0.007 × 23) = 113.2 Ah at 25 °C,
    # and below 1.2 times the rated 100 Ah; 105 Ah would be 125.1, and only 105 were seen.
    believed = drawn(5.0, 2.0, hours=19, end=EndReason.PROTECTION)
    assert believed.kind is EvidenceKind.MEASURED
    assert believed.capacity_ah == pytest.approx(95.0 / 0.839)
    beyond = drawn(5.0, 2.0, hours=21, end=EndReason.PROTECTION)
    assert beyond.kind is EvidenceKind.AT_LEAST
    assert beyond.capacity_ah == pytest.approx(105.0)
    assert "125.1 Ah" in beyond.evidence.reasons[-1].text
    assert [line(beyond, code) for code in ("temperature_coefficient", "end", "charge")] == [
        None
    ] * 3
    assert [advice.code for advice in beyond.evidence.next_time] == ["second_meter"]


def test_the_end_that_nobody_saw_never_adds_up_to_an_impossible_capacity():
    # 115 Ah counted, the next look was due 10 Ah later: the middle of that is 120, too much.
    def ended(amps, hours):
        readings = Readings.of(
            [3600.0 * i for i in range(hours + 1)], [amps] * (hours + 1), [12.6] * hours + [None]
        )
        return analyse(
            readings,
            charge_condition=ChargeCondition.FULL_RESTED,
            end_reason=EndReason.PROTECTION,
            rated_ah=95.0,
        )

    assert ended(10.0, 10).kind is EvidenceKind.MEASURED
    assert ended(10.0, 10).capacity_ah == pytest.approx(105.0)
    assert ended(10.0, 11).kind is EvidenceKind.AT_LEAST
    assert ended(10.0, 11).capacity_ah == pytest.approx(110.0)
