"""Published models of how lithium iron phosphate loses capacity, by time and by use.

They differ by the type of cell far more than by their formulas: what they have in common is the
middle, how far they lie apart is the doubt.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

import numpy as np

from app.analysis.ageing.exposure import (
    GAS_CONSTANT,
    ZERO_C_IN_K,
    Exposure,
    arrhenius,
)
from app.analysis.statistics.arrays import Floats
from app.domain.units.time_units import HOURS_PER_YEAR

# Where most of them were measured.
CALENDAR_FROM_C, CALENDAR_TO_C = 15.0, 50.0
# About as long as the cells of most of them were watched: there they are compared.
WATCHED_YEARS = 3.0
# The exponent of time: 0.59 on average over 17 conditions of one study (SD 0.15), 0.52 to 0.8 in
# the models; the square root is the low end. Three equally likely values of that mean and SD.
EXPONENT, EXPONENT_U = 0.6, 0.12
EXPONENTS: Floats = EXPONENT + EXPONENT_U * math.sqrt(1.5) * np.array([-1.0, 0.0, 1.0])
# Between types of cell, SD of the logarithm: that of the models' losses in ten years, half full.
TYPE_SPREAD = 0.6


@dataclass(frozen=True)
class CalendarModel:
    """Loss by time alone of one type of cell at 25 °C: % after ten years, half charged and full.

    Between other times it goes as time ** exponent, between temperatures by Arrhenius.
    """

    half: float
    full: float
    exponent: float
    joule_per_mol: float

    def watched(self, loss: float) -> float:
        """A loss after ten years, led back to the years that cells were watched."""
        return loss * math.pow(WATCHED_YEARS / 10, self.exponent)


# Naumann and others 2018 (data of 17 conditions over 885 days, fitted; energy of their formula, doi
# 10.1016/j.est.2018.01.019). Swierczynski and others 2015 (IEEE Transactions on Industry
# Applications 51, 3453, as coded in a public simulator). A 250 Ah cell (doi
# 10.1016/j.est.2023.109042, as coded in a public model; full stands for 90 %). Two types of Lam and
# others 2024/25 (Joule). Energies are those of the loss between 25 and 35 or 45 °C.
CALENDAR_MODELS = (
    CalendarModel(10.2, 22.8, 0.52, 17_126.0),
    CalendarModel(15.4, 21.1, 0.80, 34_500.0),
    CalendarModel(3.7, 5.6, 0.526, 46_500.0),
    CalendarModel(17.6, 22.0, 0.755, 37_900.0),
    CalendarModel(10.8, 16.3, 0.684, 44_100.0),
)
_HALF = math.exp(fmean(math.log(one.watched(one.half)) for one in CALENDAR_MODELS))
_FULL = math.exp(fmean(math.log(one.watched(one.full)) for one in CALENDAR_MODELS))

# Wang and others, J. Power Sources 196 (2011) 3942-3948, at half the capacity per hour, the
# slowest of its rates: % of the capacity of a cell of 2 Ah, throughput in Ah; 15 to 60 °C.
CYCLE_B = 31_630.0
CYCLE_J_PER_MOL = 31_700.0 - 370.3 * 0.5
CYCLE_EXPONENT = 0.55
CYCLE_CELL_AH = 2.0


def calendar_level(state_of_charge: float) -> float:
    """Middle loss in % after WATCHED_YEARS at 25 °C: geometric means, between half and full."""
    return _HALF * math.pow(_FULL / _HALF, (state_of_charge - 0.5) / 0.5)


def calendar_losses(before: Exposure, during: Exposure, charges: Sequence[float]) -> Floats:
    """Equally likely losses in % (charges, energies, exponents) of a middle type in a stretch.

    before is the life up to it. What is added up is the time that would have taken as much at
    25 °C, hour by hour: so the order of the hours does not matter, and a hotter one never
    rejuvenates.
    """
    start = _years_at_25(before)
    end = start + _years_at_25(during)
    exponents = np.array(EXPONENTS)
    grown = (end / WATCHED_YEARS) ** exponents - (start / WATCHED_YEARS) ** exponents
    levels = np.array([calendar_level(charge) for charge in charges])
    return levels[:, None, None] * grown


def _years_at_25(exposure: Exposure) -> Floats:
    """Years at 25 °C that take as much (energies, exponents): a loss that grows with time to an
    exponent takes the factor of its rate to the power of one over it in time."""
    energies = [one.joule_per_mol for one in CALENDAR_MODELS]
    rates = (arrhenius(exposure.temperature_c, energy) for energy in energies)
    hours = [[np.sum(rate ** (1 / one) * exposure.hours) for one in EXPONENTS] for rate in rates]
    return np.array(hours) / HOURS_PER_YEAR


def middle_loss(years: float, temperature_c: float, state_of_charge: float) -> float:
    """Loss in % of a middle type after years at one temperature: the middle of those likely."""
    always = Exposure.of([(temperature_c, years * HOURS_PER_YEAR)])
    return float(np.median(calendar_losses(Exposure.of([]), always, [state_of_charge])))


def cycle_loss_percent(throughput_ah: float, capacity_ah: float, temperature_c: float) -> float:
    """Loss by use alone, after throughput_ah were drawn from a battery of capacity_ah."""
    per_cell_ah = throughput_ah * CYCLE_CELL_AH / capacity_ah
    kelvin = temperature_c + ZERO_C_IN_K
    return float(
        CYCLE_B * math.exp(-CYCLE_J_PER_MOL / (GAS_CONSTANT * kelvin)) * per_cell_ah**CYCLE_EXPONENT
    )
