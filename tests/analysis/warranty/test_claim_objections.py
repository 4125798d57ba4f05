from dataclasses import replace

import pytest

from app.analysis.evidence.result import analyse_test
from app.analysis.warranty.claim_objections import objections
from app.domain.entities.meter import MeterKind, typical
from tests.builders import at_temperature
from tests.records import SHUNT, battery, record


def held_against(temperature_c=25.0, meter=SHUNT.details):
    of = battery(rated_temperature_c=25.0)
    details = record(of, [90.0])[0][0].details
    details = replace(details, readings=at_temperature(details.readings, temperature_c))
    result = analyse_test(details, of.details, meter)
    return {one.code: one for one in objections(details, result, of.details, meter)}


@pytest.mark.parametrize(
    ("temperature_c", "objected"),
    [(19.8, True), (20.0, False), (30.0, False), (30.2, True)],
)
def test_a_capacity_is_tested_within_5_kelvin_of_the_label(temperature_c, objected):
    """IEC 62619, 7.1: 25 ± 5 °C."""
    codes = held_against(temperature_c)
    assert any(code.startswith("temperature") for code in codes) is objected


def test_a_meter_worse_than_1_percent_is_named_and_stands_in_no_claim_s_way():
    """Its limits are in the uncertainty already (IEC 62660-2, 4.3 asks for 1 %)."""
    clamp = typical(MeterKind.CLAMP)
    assert clamp.gain_limit_percent > 1
    assert held_against(meter=clamp)["meter_limits"].minor
    exact = replace(clamp, gain_limit_percent=1.0)
    assert "meter_limits" not in held_against(meter=exact)
