"""What the current may have done between the readings, where nobody looked."""

import math
from dataclasses import dataclass

import numpy as np

from app.analysis.statistics.arrays import Floats

# A load turns to and fro where it goes above its mean and back, by a tenth of the mean on each
# side: 20 % from one to the other.
TURN_SHARE = 0.1
# An interval this much longer than the usual one is one in which readings were missed.
MISSED = 1.5
# Compressors and thermostats switch within minutes: readings this far apart do not follow them
# (common practice).
CLOSE_H = 1 / 3
# Few looks meet what is rare too seldom: two more at the least and two at the most (the plus four
# of Agresti and Coull, The American Statistician 52, 1998; from memory).
UNSEEN = 2
# How sure it is that readings know of their neighbours, in standard errors of their correlation.
KNOWN_BY = 2.0


@dataclass(frozen=True)
class Sampling:
    """Variance of the charge counted (Ah²), with its degrees of freedom where they are few."""

    variance: float
    degrees_of_freedom: float | None


def turns_to_and_fro(amps: Floats) -> bool:
    """Whether the load passed its mean, there and back again."""
    mean = float(amps.mean())
    sides = np.sign(amps - mean)[np.abs(amps - mean) > TURN_SHARE * abs(mean)]
    return int(np.count_nonzero(np.diff(sides))) >= 2


def sampling(hours: Floats, amps: Floats, beyond_h: float) -> Sampling:
    """How far the trapezoids may be off, with the stretch behind the last reading.

    hours is the time of each reading. The larger counts of two views of the same: what steps at
    unknown moments would do, and of a load that turns to and fro what looks at it by chance are
    worth.
    """
    steps = _steps_unseen(np.diff(hours), np.diff(amps), beyond_h)
    if not turns_to_and_fro(amps):
        return Sampling(steps, None)
    looks = _looks_by_chance(np.diff(hours), amps, beyond_h)
    return Sampling(looks, len(amps) - 1.0) if looks > steps else Sampling(steps, None)


def _steps_unseen(wide: Floats, steps: Floats, beyond_h: float) -> float:
    """Between two readings the step may have come at any moment: (ΔI h)²/12 for each (GUM 4.3.7).

    Where readings were missed the load went on changing as it did elsewhere: the square of the
    step is at least what so many usual intervals would bring. Behind the last reading nothing
    holds the load: a third instead of a twelfth.
    """
    usual = float(np.median(wide))
    seen = wide <= MISSED * usual
    pace = float(np.sum(steps[seen] ** 2) / np.sum(wide[seen]))
    squares = np.where(seen, steps**2, np.maximum(steps**2, pace * wide))
    return float(np.sum(squares * wide**2)) / 12 + pace * beyond_h**3 / 3


def _looks_by_chance(wide: Floats, amps: Floats, beyond_h: float) -> float:
    """Spread of the readings times the hours, over the root of their number.

    That holds for looks that know nothing of each other. Readings so close that the load stays as
    it was from one to the next say more: with a correlation r = exp(-x) of neighbours, the
    variance is smaller by coth(x/2) - 2/x (the sum of a telegraph signal's readings against its
    integral). r is taken as low as it may be with so many readings; of readings far apart it says
    nothing, because a load may keep step with them.
    """
    count = len(amps)
    weights = np.zeros(count)
    weights[:-1] += wide / 2
    weights[1:] += wide / 2
    extremes = np.repeat([amps.min(), amps.max()], UNSEEN)
    spread = float(np.var(np.concatenate((amps, extremes)), ddof=1))
    apart = float(np.mean(np.diff(amps) ** 2)) / (2 * spread) + KNOWN_BY / math.sqrt(count)
    whole = float(wide.sum())
    variance = spread * float(np.sum(weights**2)) * ((whole + beyond_h) / whole) ** 2
    return variance if float(np.median(wide)) >= CLOSE_H else variance * _worth(apart)


def _worth(apart: float) -> float:
    """coth(x/2) - 2/x for exp(-x) = 1 - apart; 1 where neighbours know nothing of each other."""
    if apart >= 1:
        return 1.0
    x = -math.log1p(-apart)
    return 1 / math.tanh(x / 2) - 2 / x
