"""The figures of the page for a doubting friend, each from the published models themselves."""

from dataclasses import dataclass

import numpy as np

from app.analysis.ageing.exposure import LFP_RULES
from app.analysis.ageing.loss_models import middle_loss

SHOWN_C = (15.0, 25.0, 35.0, 45.0)
SHOWN_YEARS = (1.0, 5.0)
HALF, FULL = 0.5, 1.0


@dataclass(frozen=True)
class WarmthRow:
    """One temperature in °C: how fast it ages against 25 °C, and % lost after one and five years.

    Each pair is (lowest, highest): of the published factors, and half charged to full.
    """

    temperature_c: float
    pace: tuple[float, float]
    after_one: tuple[float, float]
    after_five: tuple[float, float]


def warmth_table() -> tuple[WarmthRow, ...]:
    """One row a temperature, within the reach of the calendar models."""
    return tuple(_row(celsius) for celsius in SHOWN_C)


def _row(celsius: float) -> WarmthRow:
    paces = [float(rule.rate(np.array([celsius]))[0]) for rule in LFP_RULES]
    one, five = (
        (middle_loss(years, celsius, HALF), middle_loss(years, celsius, FULL))
        for years in SHOWN_YEARS
    )
    return WarmthRow(celsius, (min(paces), max(paces)), one, five)
