"""Amp-hours that a counter showed: taken as they stand, last minus first."""

from array import array
from dataclasses import dataclass

import numpy as np

from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.budget import Contribution, within
from app.domain.finding import Finding
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_HOUR

# A counter may leave what the readings of the current allow by this share where they are dense:
# both are meters. Between readings far apart a load may do what no reading shows.
_LEEWAY, _SPARSE_FACTOR, _DENSE_S = 0.2, 3.0, 120.0
# A counter goes back by less than this share of what it counted: noise of its last digit.
_BACK_SHARE = 0.002
_STEPS_AH = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.001)


@dataclass(frozen=True)
class Counted:
    """What was counted up to each row, from 0 on and rising, and the counter's smallest step."""

    count_ah: Floats
    step_ah: float


def counted_over(
    shown: "array[float] | None", rows: slice, time: Floats, amps: Floats
) -> tuple[Counted | None, tuple[Finding, ...]]:
    """The counter over the rows of a discharge, and what is wrong with it where it is not used.

    time (s) and amps are those of the rows; the current may have done anything between two of
    its readings that these allow, the counter saw it all. None where there is no counter, where it
    was reset, or where the currents do not bear it out.
    """
    if shown is None:
        return None, ()
    values = np.asarray(shown, dtype=np.float64)[rows]
    if not np.isfinite(values).all():
        words = say("Some readings lack the counter, so Fadeline counted the currents.")
        return None, (Finding("counter_gaps", words),)
    count = (values - values[0]) * (1.0 if values[-1] >= values[0] else -1.0)
    total = float(count[-1])
    back = float(np.max(np.maximum.accumulate(count) - count))
    if total <= 0 or back > max(_BACK_SHARE * total, _step(values)):
        words = say("The counter goes backwards during the test, so Fadeline counted the currents.")
        return None, (Finding("counter_reset", words),)
    hours = np.diff(time) / SECONDS_PER_HOUR
    least = float(np.sum(np.minimum(amps[1:], amps[:-1]) * hours))
    most = float(np.sum(np.maximum(amps[1:], amps[:-1]) * hours))
    step = _step(values)
    factor = 1 + _LEEWAY if float(np.median(np.diff(time))) <= _DENSE_S else _SPARSE_FACTOR
    if not least / factor - step <= total <= most * factor + step:
        words = say(
            "The counter says {total_ah:.4g} Ah, the currents allow {least_ah:.4g} to "
            "{most_ah:.4g} Ah, so Fadeline counted the currents. One of the two is in another "
            "unit or measures something else.",
            total_ah=total,
            least_ah=least,
            most_ah=most,
        )
        return None, (Finding("counter_contradicts", words),)
    return Counted(np.maximum.accumulate(count), step), ()


# What is said of a log whose current was not seen for long; a counter saw it.
_OF_BLIND_HOURS = ("gap", "coarse")


def seen_by_counter(caveats: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Caveats without those on hours in which nobody read the current."""
    return tuple(caveat for caveat in caveats if caveat.code not in _OF_BLIND_HOURS)


def energy_of(count: Floats, volts: Floats) -> float:
    """Watt-hours of what was counted, each interval at its mean voltage."""
    return float(np.sum(np.diff(count) * (volts[1:] + volts[:-1]) / 2))


def _step(values: Floats) -> float:
    """The step in which the counter shows: the coarsest that all its values are multiples of."""
    for step in _STEPS_AH:
        steps = values / step
        if np.all(np.abs(steps - np.round(steps)) <= 1e-6 + 1e-9 * np.abs(steps)):
            return step
    return 0.0


def counter_line(step_ah: float, factor: float) -> Contribution:
    """A difference of two figures, each rounded to the counter's step, in place of the sampling.

    The two roundings together stay within one step; they are rectangular each, so the sum is
    narrower than that (GUM 4.3.7 is on the safe side).
    """
    note = say("last minus first, in steps of {step_ah:g} Ah", step_ah=step_ah)
    return within("counter", say("steps of the counter"), step_ah, "Ah", factor, note=note)
