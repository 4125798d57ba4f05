"""Why a test under a load that swings proves less than it counted."""

import pytest

from app.analysis.evidence.result import analyse_test
from app.domain.entities.discharge import EndReason
from app.domain.readings import Readings
from tests.builders import battery_details, discharge_details


def result(amps, last_v, end_reason):
    volts = [13.2] * (len(amps) - 1) + [last_v]
    readings = Readings.of([3600.0 * row for row in range(len(amps))], amps, volts)
    details = discharge_details(readings, end_reason=end_reason)
    return analyse_test(details, battery_details(), None)


def reason(found):
    return [one.text for one in found.caveats if one.code == "swinging_load" and not one.minor]


SWINGING = [14.0, 6.0, 6.0] * 3 + [14.0, 6.0]


@pytest.mark.parametrize(
    ("last_v", "end_reason", "words"),
    [
        (12.9, EndReason.TIME, "counted {counted:.1f} Ah, but the load swung"),
        (9.9, EndReason.PROTECTION, "main reason for the ± {doubt:.1f} Ah"),
    ],
)
def test_the_swinging_load_is_named_beside_the_result(last_v, end_reason, words):
    found = result(SWINGING, last_v, end_reason)
    expected = words.format(counted=found.delivered.charge_ah, doubt=found.budget.expanded_ah)
    (said,) = reason(found)
    assert expected in said


def test_a_steady_load_is_not_blamed():
    assert reason(result([9.0] * 11, 9.9, EndReason.PROTECTION)) == []
