import math

import numpy as np
import pytest

from app.analysis.counting.voltage import usable_voltages


@pytest.mark.parametrize(
    ("dip_v", "after_v", "slip"),
    [
        # 13.65 is 1.05 times 13 and agrees with it; 0.8 × 13 = 10.4.
        (10.3, 13.65, True),
        (10.5, 13.65, False),
        # 13.7 is more than 1.05 times 13: these two say nothing of what lies between them.
        (10.3, 13.7, False),
        (9.8, 12.3, False),
    ],
)
def test_a_dip_is_a_slip_only_far_below_two_neighbours_that_agree(dip_v, after_v, slip):
    found = usable_voltages(np.array([13.0, dip_v, after_v]), None)
    assert math.isnan(found.volts[1]) is slip
    assert [one.code for one in found.caveats] == ["voltage_dip"] * slip


@pytest.mark.parametrize(
    ("usual_v", "used"), [(7.68, True), (7.6, False), (17.9, True), (18.0, False)]
)
def test_volts_outside_three_to_seven_fifths_of_the_nominal_are_not_this_battery_s(usual_v, used):
    # 0.6 × 12.8 V = 7.68 V and 1.4 × 12.8 V = 17.92 V.
    found = usable_voltages(np.full(3, usual_v), 12.8)
    assert np.isfinite(found.volts).all() == used
