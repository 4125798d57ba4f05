"""Nights without charging: what a day draws against what the battery may hold."""

import math
from dataclasses import dataclass
from datetime import date

import numpy as np

from app.analysis.battery.capacity_forecast import (
    Basis,
    CapacityForecast,
    Interval,
    gain_factors,
    interval,
)
from app.analysis.nights.cold_derating import ColdShare
from app.analysis.statistics.arrays import Floats
from app.domain.entities.battery import BatteryDetails
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.threshold import Threshold, ThresholdKind
from app.domain.units.rounding import rounded_down

# Intervals narrower than so many nights take a second digit.
NARROW = 0.3
_WIDE_WORDS = N_("{middle:.1f} nights; 9 in 10: {low:.1f} to {high:.1f}")
_NARROW_WORDS = N_("{middle:.2f} nights; 9 in 10: {low:.2f} to {high:.2f}")


@dataclass(frozen=True)
class DayUse:
    """What a day draws and what it charges, in Ah, as the owner says."""

    use_ah: float
    charge_ah: float = 0.0

    @property
    def net_ah(self) -> float:
        return self.use_ah - self.charge_ah

    @property
    def endless(self) -> bool:
        """As much is charged as is drawn: it lasts as long as the charging does."""
        return self.net_ah <= 0


@dataclass(frozen=True)
class Nights:
    """So many nights, with the amp-hours behind them; endless where charging covers the use."""

    basis: Basis
    usable_ah: Interval
    nights: Interval
    endless: bool
    on_date: date | None = None

    @property
    def sure(self) -> int | None:
        """Whole nights to count on with 95 %; None where endless, or by a label alone."""
        return None if self.nights.low is None else math.floor(self.nights.low + 1e-9)

    @property
    def words(self) -> str:
        if self.endless:
            return say("as long as the charging lasts")
        low, middle, high = self.nights.low, self.nights.middle, self.nights.high
        if low is not None and middle is not None and high is not None:
            words = _WIDE_WORDS if high - low >= NARROW else _NARROW_WORDS
            return say(words, middle=middle, low=low, high=high)
        if low is not None:
            return say("at least {nights:.1f} nights", nights=rounded_down(low))
        if middle is not None:
            return say("{nights:.1f} nights by the label", nights=middle)
        return say("not known")


def usable(
    ahead: CapacityForecast, about: BatteryDetails, day: date, cold: ColdShare | None = None
) -> Interval:
    """Amp-hours above the reserve on a day, with the meter's gain and the cold in it.

    A lower bound and a label say nothing of another day: they hold for their own.
    """
    kept = 1 - about.reserve_share
    if ahead.basis is Basis.TESTS:
        return interval(kept * spread(ahead.on(day), gain_factors(ahead.gain), cold))
    if ahead.basis is Basis.AT_LEAST and ahead.bound_ah is not None:
        share = 1.0 if cold is None else (cold.low or 0.0)
        return Interval(ahead.bound_ah * kept * share, None, None)
    share = 1.0 if cold is None else (cold.middle or 0.0)
    return Interval(None, about.rated_ah * kept * share, None)


def spread(likely: Floats, factors: Floats, cold: ColdShare | None = None) -> Floats:
    """Equally likely values with an independent factor, and the cold's where there is one."""
    values = np.multiply.outer(likely, factors).ravel()
    if cold is None:
        return values
    return np.multiply.outer(values, cold.likely).ravel()


def nights_of(usable_ah: Interval, day: DayUse, basis: Basis, on_date: date | None) -> Nights:
    """Nights until only the reserve is left."""
    if day.endless:
        return Nights(basis, usable_ah, Interval(None, None, None), True, on_date)

    def of(value: float | None) -> float | None:
        return None if value is None else value / day.net_ah

    nights = Interval(of(usable_ah.low), of(usable_ah.middle), of(usable_ah.high))
    return Nights(basis, usable_ah, nights, False, on_date)


def threshold_of(
    nights: float, day: DayUse, reserve_share: float, cold: ColdShare | None = None
) -> Threshold:
    """The capacity at reference conditions below which so many nights no longer work.

    In the cold it gives less, so it must hold more.
    """
    share = 1.0 if cold is None or cold.middle is None else cold.middle
    ah = nights * day.net_ah / (1 - reserve_share) / share
    words = say(
        "{needed_ah:.0f} Ah for {nights:g} nights of {night_ah:g} Ah",
        needed_ah=ah,
        nights=nights,
        night_ah=day.net_ah,
    )
    return Threshold(ThresholdKind.NIGHTS, words, ah=ah)
