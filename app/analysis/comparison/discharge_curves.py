"""Discharge curves of one battery laid over one another."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from app.analysis.evidence.corrected import factor_of
from app.analysis.evidence.result import Result
from app.analysis.statistics.budget import combine, within
from app.domain.entities.discharge import Discharge
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_HOUR

POINTS = 120
# Nobody enters a limit of the voltmeter: what one of common quality keeps, % of the reading
# (common practice).
VOLTAGE_LIMIT_PERCENT = 1.0
# What a budget holds beside the count itself: where empty and full were.
_NOT_OF_COUNT = ("end", "tail", "charge")


@dataclass(frozen=True)
class Curve:
    """One test's voltage against charge and time, thinned to at most POINTS.

    difference_v is the voltage less the first curve's at the same charge, None where either has
    none there. Expanded uncertainties (95 %) are of what was counted, without what is unknown of
    empty and full; that of the energy takes a voltmeter within VOLTAGE_LIMIT_PERCENT.
    """

    discharge_id: int
    on_date: date
    charge_ah: tuple[float, ...]
    hours: tuple[float, ...]
    voltage_v: tuple[float, ...]
    difference_v: tuple[float | None, ...]
    delivered_ah: float
    delivered_expanded_ah: float
    delivered_wh: float | None
    delivered_expanded_wh: float | None
    mean_voltage_v: float | None
    mean_current_a: float
    temperature_c: float | None


@dataclass(frozen=True)
class Curves:
    """All curves of a battery in order of time; without_voltage tests have none to show."""

    battery_id: int
    battery_name: str
    curves: tuple[Curve, ...]
    without_voltage: int


def curves_of(
    battery_id: int, battery_name: str, tests: Sequence[tuple[Discharge, Result]]
) -> Curves:
    """Lay the tests' curves over one another."""
    in_order = sorted(tests, key=lambda pair: pair[0].details.started_at)
    made: list[Curve] = []
    for test, result in in_order:
        curve = curve_of(test, result, made[0] if made else None)
        if curve is not None:
            made.append(curve)
    return Curves(battery_id, battery_name, tuple(made), len(in_order) - len(made))


def curve_of(test: Discharge, result: Result, first: Curve | None = None) -> Curve | None:
    """One test's curve, with its difference to the first's; None where it has no voltages."""
    delivered = result.course
    if delivered is None or delivered.voltage_v is None:
        return None
    loaded = np.flatnonzero(delivered.current_a > 0)
    count = len(loaded)
    picked = loaded[np.unique(np.linspace(0, count - 1, min(count, POINTS)).astype(int))]
    charge, volts = delivered.count_ah[picked], delivered.voltage_v[picked]
    difference: tuple[float | None, ...] = (None,) * len(picked)
    if first is not None:
        base = np.interp(charge, first.charge_ah, first.voltage_v)
        reach = first.charge_ah[-1]
        difference = tuple(
            float(v - b) if c <= reach else None
            for c, v, b in zip(charge, volts, base, strict=True)
        )
    hours = np.maximum(delivered.time_s[picked] - delivered.start_s, 0) / SECONDS_PER_HOUR
    energy = delivered.energy_wh
    charge_doubt, energy_doubt = _relative_doubts(result, delivered.charge_ah)
    return Curve(
        discharge_id=test.id,
        on_date=test.details.started_local.date(),
        charge_ah=tuple(float(value) for value in charge),
        hours=tuple(float(value) for value in hours),
        voltage_v=tuple(float(value) for value in volts),
        difference_v=difference,
        delivered_ah=delivered.charge_ah,
        delivered_expanded_ah=charge_doubt * delivered.charge_ah,
        delivered_wh=energy,
        delivered_expanded_wh=None if energy is None else energy_doubt * energy,
        mean_voltage_v=None if energy is None else energy / delivered.charge_ah,
        mean_current_a=delivered.mean_current_a,
        temperature_c=result.temperature_c,
    )


def _relative_doubts(result: Result, charge_ah: float) -> tuple[float, float]:
    """Expanded uncertainties (95 %) of the counted charge and of its energy, as shares of them.

    Lines of the budget are at the conditions of the label: the factor that led there is taken out.
    """
    factor = factor_of(result.corrections, result.kind)
    corrected = tuple(f"{one.code}_" for one in result.corrections)
    counted = tuple(
        line
        for line in result.budget.lines
        if line.code not in _NOT_OF_COUNT and not line.code.startswith(corrected)
    )
    at_label_ah = charge_ah * factor
    voltage = within(
        "mean_voltage", say("voltmeter"), VOLTAGE_LIMIT_PERCENT, "%", at_label_ah / 100
    )
    both = (*counted, voltage)
    return combine(counted).expanded_ah / at_label_ah, combine(both).expanded_ah / at_label_ah
