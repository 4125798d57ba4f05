"""The cases that nights are reckoned for: without charging and with it, warm and in the cold."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.battery.capacity_forecast import CapacityForecast, capacity_ahead
from app.analysis.nights.cold_derating import ColdShare, cold_share, may_charge
from app.analysis.nights.nights import DayUse, Nights, nights_of, threshold_of, usable
from app.analysis.nights.parallel_batteries import BatteryCapacity
from app.domain.entities.battery import BatteryDetails
from app.domain.i18n.message import say


@dataclass(frozen=True)
class UseCase:
    """One use of the battery, and what it may hold as far as that use asks.

    Each use is judged for its own threshold, the capacity that the nights asked for take, so that
    its nights and its dates say the same.
    """

    how: str
    use: DayUse
    side: BatteryCapacity

    @property
    def cold(self) -> ColdShare | None:
        return self.side.cold

    def nights_on(self, day: date, ahead: CapacityForecast | None = None) -> Nights:
        """Nights on a day; from another view of what it may hold where that is given."""
        seen = ahead or self.side.ahead
        amount = usable(seen, self.side.about, day, self.cold)
        return nights_of(amount, self.use, seen.basis, day)


def cases_of(
    about: BatteryDetails, report: BatteryReport, days: Sequence[date], wanted: float | None
) -> tuple[UseCase, ...]:
    """The warm cases first, each without charging first; none where no use is known.

    A cold that no source covers makes no case.
    """
    warm = []
    for how, use in uses_of(about, cold=False):
        level = None
        if wanted is not None and not use.endless:
            level = threshold_of(wanted, use, about.reserve_share)
        side = BatteryCapacity(about, capacity_ahead(about, report, days, level))
        warm.append(UseCase(how, use, side))
    week = None if about.cold_week_c is None else cold_share(about, about.cold_week_c)
    if week is None or week.middle is None:
        return tuple(warm)
    allowed = [how for how, _ in uses_of(about, cold=True)]
    # The cold takes its share of the same capacities: it never leaves more than the warm case.
    cold = [replace(one, side=replace(one.side, cold=week)) for one in warm if one.how in allowed]
    return (*warm, *cold)


def uses_of(about: BatteryDetails, *, cold: bool) -> list[tuple[str, DayUse]]:
    """The days to reckon with: without charging, and with it where it is allowed."""
    if about.use_ah_a_day is None:
        return []
    bare = [(say("without charging"), DayUse(about.use_ah_a_day))]
    charge = about.charge_ah_a_day or 0.0
    if charge <= 0:
        return bare
    week_c = about.cold_week_c
    if cold and week_c is not None and not may_charge(about.chemistry, week_c):
        return bare
    how = say("with {charge_ah:g} Ah charged a day", charge_ah=charge)
    return [*bare, (how, DayUse(about.use_ah_a_day, charge))]
