"""Published models of how lithium iron phosphate loses capacity, by time and by use."""

import math

import numpy as np

from app.analysis.exposure import (
    GAS_CONSTANT,
    ZERO_C_IN_K,
    Exposure,
    arrhenius,
)
from app.domain.time_units import SECONDS_PER_HOUR

# Naumann, Schimpe, Keil, Hesse, Jossen, J. Energy Storage 17 (2018) 153-169, Table 7
# (doi 10.1016/j.est.2018.01.019): % of capacity, time in seconds.
CALENDAR_K = 0.0012571
CALENDAR_J_PER_MOL = 17_126.0
CALENDAR_FROM_C, CALENDAR_TO_C = 15.0, 50.0

# Wang and others, J. Power Sources 196 (2011) 3942-3948, at half the capacity per hour, the
# slowest of its rates: % of the capacity of a cell of 2 Ah, throughput in Ah; 15 to 60 °C.
CYCLE_B = 31_630.0
CYCLE_J_PER_MOL = 31_700.0 - 370.3 * 0.5
CYCLE_EXPONENT = 0.55
CYCLE_CELL_AH = 2.0


def charge_factor(state_of_charge: float) -> float:
    """How the calendar loss depends on the state of charge (0 to 1), against that of the model."""
    return 2.8575 * (state_of_charge - 0.5) ** 3 + 0.60225


def calendar_loss_percent(exposure: Exposure, state_of_charge: float) -> float:
    """Loss by time alone: k √t at one temperature; over a history the squares add up.

    Adding k² t and not k √t makes the order of the history not matter and never lets a hotter hour
    rejuvenate.
    """
    k = CALENDAR_K * charge_factor(state_of_charge)
    rate = arrhenius(exposure.temperature_c, CALENDAR_J_PER_MOL)
    squares = float(np.sum((k * rate) ** 2 * exposure.hours * SECONDS_PER_HOUR))
    return math.sqrt(squares)


def cycle_loss_percent(throughput_ah: float, capacity_ah: float, temperature_c: float) -> float:
    """Loss by use alone, after throughput_ah were drawn from a battery of capacity_ah."""
    per_cell_ah = throughput_ah * CYCLE_CELL_AH / capacity_ah
    kelvin = temperature_c + ZERO_C_IN_K
    return float(
        CYCLE_B * math.exp(-CYCLE_J_PER_MOL / (GAS_CONSTANT * kelvin)) * per_cell_ah**CYCLE_EXPONENT
    )
