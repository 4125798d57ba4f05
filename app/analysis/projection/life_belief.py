"""What is believed of a battery's life before any test, from published evidence.

Two kinds of ageing, with a belief of their own each. Where time alone wears a cell, its fade slows
down; where use wears it, fade gathers speed or ends in a knee. For lithium iron phosphate, to 80 %:

Time, at 25 °C and kept nearly full. Eight published sources give 7.7 and 8.7 years (Naumann and
others 2018, data and formula, doi 10.1016/j.est.2018.01.019), 8.8 and 13.5 (Lam and others, Joule
2024/25, two types), 10 (Swierczynski and others 2015, IEEE TIA 51, 3453), 13.5 (Grolleau and
others 2014, doi 10.1016/j.jpowsour.2013.11.098), 19.6 (a refit of Naumann's data) and 112 (a
250 Ah cell, doi 10.1016/j.est.2023.109042; extrapolated): 11.6 years in the middle. How far types
differ: 68 % between 7 and 20 years (our judgement of them) is SD 0.5 of the logarithm; from the
spread of their losses, 0.6, with life as the (1/0.6)th power of a loss, it is 1.0. The middle is
taken where time alone decides. One of the eight lies far outside, but that one is extrapolated: a
sixteenth of the belief is wide. Half full, seven of the sources give 1.35 to 4.4 times as long,
1.8 in the middle; 1.4 is taken, for nobody followed one to its end.

Use: 3000 full cycles, the geometric mean of 1670 (published cells of this kind, cycled at 25 to
30 °C in hours; 1230 to 2300), 3500 (a maker's datasheet of a 304 Ah cell) and 4740 (2500 to 9000,
Preger and others 2020, doi 10.1149/1945-7111/abae37).

No study follows a house battery to 80 %. Home storages lost 2 to 3 % a year (Figgener and others
2024, doi 10.1038/s41560-024-01620-9, chemistries mixed), 7 to 10 years to 80 %.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.ageing.exposure import Exposure, ageing_factor
from app.analysis.ageing.loss_models import EXPONENT
from app.analysis.statistics.arrays import Floats
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.units.time_units import DAYS_PER_YEAR

TIME_YEARS, TIME_SPREAD = 12.0, 0.75
HALF_FULL_FACTOR = 1.4
NEARLY_FULL, HALF_FULL = 0.75, 0.5
FULL_CYCLES = 3000.0
# How losses by time and by use add up is not known: they add as losses that both go with the 0.6th
# power of time (see loss_models), or as shares of life. The middle of the two is taken.
LOSS_POWERS = (EXPONENT, 1.0)
# A year's use that nobody told, 12 to 365 full cycles with the logarithm evenly likely (a guess),
# gives with the doubts of time (SD 0.5) and cycles (SD 0.6) the median of this many, and with half
# the distance between the two ways of adding this spread, by random draws (tests repeat them).
USUAL_CYCLES = 95.0
USE_SPREAD = 0.54
# Cooler than this the sources say little more: it is believed to age as it does there.
COOLEST_C, HOTTEST_C = 15.0, 50.0
# A place that nobody told: 25 °C over the year, standard uncertainty 5 K (a guess), at 1.57 times
# the pace for 10 K.
PLACE_SPREAD = 0.5 * math.log(1.57)
WIDE_SPREAD, WIDE_WEIGHT = 1.2, 1 / 16
OTHER_SPREAD = 0.53


@dataclass(frozen=True)
class UseAndClimate:
    """What the owner told of how a battery lives; None for what is not known.

    full_cycles_a_year: what is drawn in a year over the rated capacity.
    pace: how fast it ages where it lives, against 25 °C, the mean over a typical year.
    mean_charge: share of charge (0 to 1) at which it waits.
    """

    full_cycles_a_year: float | None = None
    pace: float | None = None
    mean_charge: float | None = None

    @property
    def informs(self) -> bool:
        """Whether anything of it bears on the belief."""
        return self.full_cycles_a_year is not None or self.pace is not None


UNKNOWN = UseAndClimate()


def circumstances(about: BatteryDetails, year: Exposure | None = None) -> UseAndClimate:
    """What the owner told: of the use, of the charge, and a typical year where it lives."""
    drawn = about.throughput_ah_a_year
    pace = None
    if year is not None and year.total_h and about.chemistry is Chemistry.LFP:
        pace = ageing_factor(year.within(COOLEST_C, HOTTEST_C)).middle
    return UseAndClimate(
        None if drawn is None else drawn / about.rated_ah,
        pace,
        (about.waits_at_low_share + about.waits_at_high_share) / 2,
    )


@dataclass(frozen=True)
class LifePrior:
    """What is believed of the life to 80 % before any test: log-normal, with a wide part beside it.

    slowing: median years and SD of ln life of a battery whose fade slows down. other: of all the
    rest. wide_spread, wide_weight: of the wide part, with the same median; tests can use it to
    overrule the main one.
    """

    slowing: tuple[float, float]
    other: tuple[float, float]
    wide_spread: float = WIDE_SPREAD
    wide_weight: float = WIDE_WEIGHT

    def log_density(self, days_to_80: Floats, slows: NDArray[np.bool_]) -> Floats:
        """Log of the density per unit of ln life, up to a constant: (J, A).

        days_to_80: (A,). slows: (J,) which trajectories slow down.
        """
        median, spread = np.array([self.slowing, self.other]).T[:, :, None]
        distance = np.log(days_to_80 / DAYS_PER_YEAR)[None, :] - np.log(median)
        main = np.log1p(-self.wide_weight) - np.log(spread)
        wide = np.log(self.wide_weight) - np.log(self.wide_spread)
        of_kind: Floats = np.logaddexp(
            main - 0.5 * (distance / spread) ** 2,
            wide - 0.5 * (distance / self.wide_spread) ** 2,
        )
        return of_kind[np.where(slows, 0, 1)]


# A median in years that is a stated guess; None where there is the evidence above instead.
_GUESSED_YEARS = {
    Chemistry.LFP: None,
    Chemistry.LITHIUM_ION: 6.0,
    Chemistry.FLOODED: 4.0,
    Chemistry.AGM: 4.0,
    Chemistry.GEL: 4.0,
}


def prior_of(chemistry: Chemistry, lives: UseAndClimate = UNKNOWN) -> LifePrior:
    """The belief about life before any test, with what is known of how the battery lives."""
    years = _GUESSED_YEARS[chemistry]
    if years is not None:
        guess = (years, OTHER_SPREAD)
        return LifePrior(guess, guess)
    by_time = time_years(lives)
    place = PLACE_SPREAD if lives.pace is None else 0.0
    return LifePrior(
        (by_time, math.hypot(TIME_SPREAD, place)),
        (with_use(by_time, lives), math.hypot(USE_SPREAD, place)),
    )


def time_years(lives: UseAndClimate) -> float:
    """Median years to 80 % where time alone wears it."""
    charge = NEARLY_FULL if lives.mean_charge is None else lives.mean_charge
    part = (NEARLY_FULL - charge) / (NEARLY_FULL - HALF_FULL)
    longer: float = HALF_FULL_FACTOR ** min(max(part, 0.0), 1.0)
    return TIME_YEARS * longer / (lives.pace or 1.0)


def with_use(by_time: float, lives: UseAndClimate) -> float:
    """Median years to 80 % where use wears it beside time: the middle of two ways of adding."""
    cycles = USUAL_CYCLES if lives.full_cycles_a_year is None else lives.full_cycles_a_year
    if cycles <= 0:
        return by_time
    # Warmth takes of the cycles as well (3500 at 25 °C, 1800 at 45 °C by that datasheet); that the
    # cool gives more is not known.
    by_use = FULL_CYCLES / cycles / max(lives.pace or 1.0, 1.0)
    ways = [(by_time**-power + by_use**-power) ** (-1 / power) for power in LOSS_POWERS]
    return math.sqrt(math.prod(ways))
