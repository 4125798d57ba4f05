from datetime import date

import numpy as np
import pytest

from app.analysis.battery.capacity_forecast import Basis, CapacityForecast
from app.analysis.nights.nights import DayUse
from app.analysis.nights.nights_end import nights_ends
from app.analysis.nights.parallel_batteries import BatteryCapacity
from app.analysis.nights.use_cases import UseCase
from tests.builders import battery_details


def test_between_two_days_the_chance_falls_along_a_straight_line():
    """Two nights of 25 Ah take 50 Ah: there for nine of ten likely capacities on the first day and
    for four on the eleventh. It falls from 90 to 50 % in 0.8 of the ten days between."""
    days = date(2030, 1, 1), date(2030, 1, 11)
    likely = np.array([[40.0] + [60.0] * 9, [40.0] * 6 + [60.0] * 4])
    ahead = CapacityForecast(Basis.TESTS, days, likely, 0.0, None)
    case = UseCase("bare", DayUse(25.0), BatteryCapacity(battery_details(reserve_share=0.0), ahead))
    (end,) = nights_ends([case], days, 2.0)
    assert end.chance_today == pytest.approx(0.9)
    assert (end.p05, end.p50, end.p95) == (None, date(2030, 1, 9), None)
