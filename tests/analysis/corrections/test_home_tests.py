"""A usual test at home carries no caveat because of its temperature or its rate."""

import pytest

from app.analysis.evidence.result import analyse
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.meter import MeterKind, typical
from app.domain.finding import EvidenceKind
from app.domain.readings import Readings


def at_home(c_rate, celsius, rated_hours):
    """100 Ah drawn steadily, read every quarter of an hour or so, at last at 11 V."""
    hours = 1 / c_rate
    rows = round(4 * hours) + 1
    seconds = [3600 * hours * i / (rows - 1) for i in range(rows)]
    volts = [13.2 - 0.6 * i / rows for i in range(rows - 2)] + [12.0, 11.0]
    readings = Readings.of(seconds, [100 * c_rate] * rows, volts, [celsius] * rows)
    battery = BatteryDetails("b", Chemistry.LFP, 12.8, 100.0, rated_hours)
    return analyse(
        readings,
        charge_condition=ChargeCondition.FULL_RESTED,
        end_reason=EndReason.PROTECTION,
        empty_v=battery.empty_v,
        ended_after_h=hours,
        meter=typical(MeterKind.SHUNT),
        rated_ah=100.0,
        battery=battery,
    )


@pytest.mark.parametrize("c_rate", [0.05, 0.07, 0.1])
@pytest.mark.parametrize("celsius", [30.0, 35.0, 40.0, 45.0])
@pytest.mark.parametrize("rated_hours", [None, 1.0, 2.0, 5.0, 10.0, 20.0])
def test_a_usual_home_test_carries_no_caveat(c_rate, celsius, rated_hours):
    result = at_home(c_rate, celsius, rated_hours)
    assert result.kind is EvidenceKind.MEASURED
    assert result.caveats == ()


@pytest.mark.parametrize("celsius", [30.0, 45.0])
def test_each_correction_of_a_home_test_is_counted_once(celsius):
    lines = at_home(0.05, celsius, 5.0).budget.lines
    shares = {one.code: one.standard_ah for one in lines if one.code.endswith("_coefficient")}
    # C/20 to C/5: 0.008 · ln 4 = 1.11 % of about 99 Ah; the table has 0.3 % at 30, 0.7 % at 45 °C.
    assert shares == {
        "rate_coefficient": pytest.approx(1.11, rel=0.03),
        "temperature_coefficient": pytest.approx(0.3 if celsius == 30 else 0.7, rel=0.03),
    }


def test_outside_the_table_it_does():
    assert "no_temperature_correction" in {one.code for one in at_home(0.05, 46.0, 5.0).caveats}
