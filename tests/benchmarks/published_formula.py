"""The calendar formula of one published cell, for simulations: a cell type among others.

Naumann, Schimpe, Keil, Hesse, Jossen, J. Energy Storage 17 (2018) 153-169, Table 7 (doi
10.1016/j.est.2018.01.019): % of capacity, time in seconds. Fadeline expects nothing from it alone:
at 25 °C and half charge it takes 40 % more than the cells that it was made from lost in 885 days.
"""

import math

import numpy as np

from app.analysis.ageing.exposure import Exposure, arrhenius
from app.domain.units.time_units import SECONDS_PER_HOUR

CALENDAR_K = 0.0012571
CALENDAR_J_PER_MOL = 17_126.0


def calendar_loss_percent(exposure: Exposure, state_of_charge: float) -> float:
    """Loss by time alone: k √t at one temperature; over a history the squares add up."""
    k = CALENDAR_K * (2.8575 * (state_of_charge - 0.5) ** 3 + 0.60225)
    rate = arrhenius(exposure.temperature_c, CALENDAR_J_PER_MOL)
    return math.sqrt(float(np.sum((k * rate) ** 2 * exposure.hours * SECONDS_PER_HOUR)))
