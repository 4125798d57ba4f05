"""The age that a battery would have at 25 °C for ageing as much as it did where it lived."""

from collections.abc import Callable, Sequence
from datetime import date

from app.analysis.ageing.exposure import AgeingRule, ageing_factor
from app.analysis.ageing.temperature_history import TemperatureHistory
from app.analysis.heat.heat_report import KNOWN_ENOUGH
from app.domain.temperature_log import HOURS_A_DAY
from app.domain.units.time_units import HOURS_PER_YEAR


def equivalent_age(
    history: TemperatureHistory, rules: Sequence[AgeingRule]
) -> Callable[[date], float | None] | None:
    """Years at 25 °C from the start of the history to a day, by the middle published figure.

    Hours that are not known are taken to be like the rest. A day before which less than half is
    known has no such age; without any known hour or published figure there is none at all.
    """
    if not rules or not history.exposure.total_h:
        return None

    def years(day: date) -> float | None:
        hours = float(max(0, (day - history.from_day).days) * HOURS_A_DAY)
        if not hours:
            return 0.0
        seen = history.between(history.from_day, day)
        if seen.total_h < KNOWN_ENOUGH * hours:
            return None
        return ageing_factor(seen, rules).middle * hours / HOURS_PER_YEAR

    return years
