"""Other columns of a test that bear the current out or speak against it."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.plausibility.questions import (
    FACTORS,
    Alternative,
    Doubt,
    DoubtKind,
    Known,
    as_it_stands,
)
from app.analysis.plausibility.raw_readings import RawReadings
from app.analysis.statistics.arrays import Floats
from app.domain.i18n.amounts import charge_said
from app.domain.i18n.message import say
from app.domain.readings import Readings

Rows = NDArray[np.intp]

# From here on a counter and the currents are in different units (common practice).
_TENFOLD = 7.0
# What two meters of one box may differ by, beside their rounding (common practice).
_METERS_SHARE = 0.1
# Differences that scatter from reading to reading count beyond so many standard errors.
_BEYOND_ERRORS = 2.0
# A gauge's percentage is no capacity: only a gross contradiction counts (common practice).
_GROSS = 2.0
_SMALLEST_FALL_PERCENT = 10.0
_STEPS = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
_STEPS_PERCENT = (25.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.1)


def other_columns(readings: Readings, test: RawReadings, known: Known) -> Iterable[Doubt]:
    """A doubt for each column beside the current that says something else."""
    yield from _counter(readings, test)
    yield from _power(test, known)
    yield from _gauge(readings, test, known)


def _counter(readings: Readings, test: RawReadings) -> Iterable[Doubt]:
    """A counter and currents that differ about tenfold or more: one of them is in another unit."""
    if readings.counted_ah is None or test.counted is None:
        return
    by_counter, by_current = test.charge_ah, test.charge_of(test.amps)
    if not by_counter or 1 / _TENFOLD < by_current / by_counter < _TENFOLD:
        return
    yield Doubt(
        DoubtKind.COUNTER,
        None,
        by_counter,
        (
            Alternative(say("the counter is right"), by_counter),
            Alternative(say("the currents are right"), by_current),
        ),
        say(
            "The counter says {by_counter}, the currents add up to {by_current}.",
            by_counter=charge_said(by_counter),
            by_current=charge_said(by_current),
        ),
    )


@dataclass(frozen=True)
class _ByPower:
    """Watts divided by volts in the rows that have both, and what rounding may do to each."""

    rows: Rows
    amps: Floats
    leeway_a: Floats


def _by_power(test: RawReadings, known: Known) -> _ByPower | None:
    if known.power_w is None:
        return None
    watts = np.abs(np.asarray(known.power_w, dtype=np.float64)[: len(test.amps)])
    rows = np.flatnonzero(np.isfinite(watts) & (test.volts > 0))
    # A column of nothing but zeros belongs to a sensor that is not there.
    if rows.size < 2 or not watts[rows].any():
        return None
    watts, volts = watts[rows], test.volts[rows]
    amps = watts / volts
    shares = _step(volts) / 2 / volts
    leeway = (_step(watts) / 2) / volts + amps * shares + _step(test.amps[rows]) / 2
    return _ByPower(rows, amps, leeway)


def _step(values: Floats, usual: tuple[float, ...] = _STEPS) -> float:
    """The coarsest of the usual steps that all values are multiples of; 0 for a finer one."""
    for step in usual:
        steps = values / step
        if np.all(np.abs(steps - np.round(steps)) <= 1e-6 * np.maximum(1.0, np.abs(steps))):
            return step
    return 0.0


def _power(test: RawReadings, known: Known) -> Iterable[Doubt]:
    """Watts divided by volts against the amps, over the whole test.

    Both round, both are meters, and one may be a mean where the other is a look: what these explain
    is no doubt.
    """
    found = _by_power(test, known)
    if found is None:
        return
    amps = np.abs(test.amps[found.rows])
    apart = found.amps - amps
    error = float(np.std(apart, ddof=1)) / np.sqrt(apart.size)
    leeway = _METERS_SHARE * float(amps.mean()) + float(found.leeway_a.mean())
    if abs(float(apart.mean())) <= leeway + _BEYOND_ERRORS * error:
        return
    by_power = test.charge_of(np.interp(np.arange(len(test.amps)), found.rows, found.amps))
    by_current = test.charge_of(test.amps)
    yield Doubt(
        DoubtKind.POWER,
        None,
        by_power,
        (
            Alternative(say("the watts are right"), by_power),
            as_it_stands(test.charge_ah, by_current),
        ),
        say(
            "The column of watts contradicts the currents: watts divided by volts come to "
            "{by_power}, the currents to {by_current}, a factor of {factor:.4g}.",
            by_power=charge_said(by_power),
            by_current=charge_said(by_current),
            factor=max(by_power, by_current) / max(min(by_power, by_current), 1e-9),
        ),
    )


def by_power_at(row: int, test: RawReadings, known: Known) -> str | None:
    """What the watts make of one reading's current, in words; None where they say nothing."""
    found = _by_power(test, known)
    if found is None or row not in found.rows:
        return None
    amps = float(found.amps[np.searchsorted(found.rows, row)])
    return say("By its watts and volts it is {amps:.4g} A.", amps=amps)


def _gauge(readings: Readings, test: RawReadings, known: Known) -> Iterable[Doubt]:
    """The gauge's fall as a share of the rated capacity against what was drawn meanwhile."""
    if known.rated_ah is None:
        return
    percent = np.asarray(readings.gauge_percent, dtype=np.float64)[: len(test.amps)]
    rows = _moving(percent)
    if rows.size < 2:
        return
    first, last = int(rows[0]), int(rows[-1])
    fall = float(percent[first] - percent[last])
    if fall < _SMALLEST_FALL_PERCENT:
        return
    rounding = _step(percent[rows], _STEPS_PERCENT)
    drawn, whole = test.charge_between(first, last), test.charge_ah
    by_gauge = fall / 100 * known.rated_ah
    spare = rounding / 100 * known.rated_ah
    if (by_gauge - spare) / _GROSS < drawn < (by_gauge + spare) * _GROSS or drawn <= 0:
        return
    fits = [
        Alternative(say(words), whole * factor, whole * factor)
        for factor, words in FACTORS
        if by_gauge / _GROSS < drawn * factor < by_gauge * _GROSS
    ]
    yield Doubt(
        DoubtKind.GAUGE,
        None,
        drawn,
        (*fits, as_it_stands(whole, drawn)),
        say(
            "The gauge does not fit the rated capacity: it falls by {fall:.4g} %, about "
            "{by_gauge} of the rated {rated_ah:g} Ah, while the count is {drawn}.",
            fall=fall,
            by_gauge=charge_said(by_gauge),
            rated_ah=known.rated_ah,
            drawn=charge_said(drawn),
        ),
    )


def _moving(percent: Floats) -> Rows:
    """Rows in which the gauge can move: from the last 100 % on, before the first 0 %."""
    known = np.isfinite(percent)
    full, empty = (np.flatnonzero(known & one) for one in (percent >= 100, percent <= 0))
    first = int(full[-1]) if full.size else 0
    later = empty[empty > first]
    last = int(later[0]) if later.size else len(percent)
    rows = np.flatnonzero(known)
    return rows[(rows >= first) & (rows < last)]
