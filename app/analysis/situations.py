"""How many nights: now, in a cold week, at a date, alone or with a second battery."""

from dataclasses import dataclass
from datetime import date

from app.analysis.battery_report import BatteryReport
from app.analysis.capacity_ahead import Basis, Interval, capacity_ahead, last_day_known
from app.analysis.cold_share import ColdShare, cold_share, may_charge
from app.analysis.nights import DayUse, Nights, nights_of, usable
from app.analysis.pair import Side, basis_of, check_pair, pair_usable
from app.domain.battery import Battery, BatteryDetails
from app.domain.errors import Refused


@dataclass(frozen=True)
class Situation:
    """One line of the answer; nights is None where nothing can be said, and words say why."""

    label: str
    nights: Nights | None
    words: str


def check_day(day: date | None, as_of: date, last_day: date | None) -> None:
    """Raises Refused for a day that nothing is known of."""
    if day is None:
        return
    until = last_day or as_of
    if not as_of <= day <= until:
        allowed = f"a date from today ({as_of}) to {until}"
        allowed += (
            ", 30 years after the first test"
            if last_day
            else "; it takes a measured test to look ahead"
        )
        raise Refused.because("date", str(day), allowed, "on")


def uses_of(about: BatteryDetails, *, cold: bool) -> list[tuple[str, DayUse]]:
    """The days to reckon with: without charging, and with it where it is allowed."""
    if about.use_ah_a_day is None:
        return []
    bare = [("without charging", DayUse(about.use_ah_a_day))]
    charge = about.charge_ah_a_day or 0.0
    if charge <= 0:
        return bare
    if (
        cold
        and about.cold_week_c is not None
        and not may_charge(about.chemistry, about.cold_week_c)
    ):
        return bare
    return [*bare, (f"with {charge:g} Ah charged a day", DayUse(about.use_ah_a_day, charge))]


def situations_of(side: Side, as_of: date, on_date: date | None) -> tuple[Situation, ...]:
    """Now, in a cold week and on the day asked for; nothing where no use is known."""
    made = [*_on(side, as_of, "Now", None)]
    if side.cold is not None:
        made += _on(side, as_of, f"In a cold week at {side.cold.temperature_c:g} °C", side.cold)
    if on_date is not None and side.ahead.basis is Basis.TESTS:
        named = f"On {on_date.day} {on_date:%B %Y}"
        made += _on(side, on_date, named, None)
        if side.cold is not None:
            made += _on(side, on_date, f"{named}, at {side.cold.temperature_c:g} °C", side.cold)
    return tuple(made)


def _on(side: Side, day: date, when: str, cold: ColdShare | None) -> list[Situation]:
    if cold is not None and cold.middle is None:
        known = side.about.use_ah_a_day is not None
        return [Situation(when, None, cold.words)] if known else []
    amount = usable(side.ahead, side.about, day, cold)
    return _against(side.about, amount, side.ahead.basis, day, when, cold=cold is not None)


def _against(
    about: BatteryDetails, amount: Interval, basis: Basis, day: date, when: str, *, cold: bool
) -> list[Situation]:
    """What that amount does against the use, without charging and with it."""
    made = []
    for how, use in uses_of(about, cold=cold):
        found = nights_of(amount, use, basis, day)
        made.append(Situation(f"{when}, {how}", found, found.words))
    return made


def pair_situations(
    side: Side, beside: tuple[Battery, BatteryReport], as_of: date, on_date: date | None
) -> tuple[Situation, ...]:
    """Both together, against the first one's use. Raises Refused (see check_pair)."""
    about, report = beside[0].details, beside[1]
    check_pair(side.about, about)
    days = (as_of,) if on_date is None else (as_of, on_date)
    if on_date is not None and (known := last_day_known(report.points)) is not None:
        check_day(on_date, as_of, known)
    cold = None if side.cold is None else cold_share(about, side.cold.temperature_c)
    other = Side(about, capacity_ahead(about, report, days), cold)
    basis = basis_of(side, other)
    made = []
    for day in days if basis is Basis.TESTS else (as_of,):
        when = "Now" if day == as_of else f"On {day.day} {day:%B %Y}"
        amount = pair_usable(side.warm, other.warm, day, later=day != as_of)
        made += _against(side.about, amount, basis, day, when, cold=False)
    if side.cold is not None and side.cold.middle is not None and cold and cold.middle is not None:
        amount = pair_usable(side, other, as_of, later=False)
        when = f"In a cold week at {cold.temperature_c:g} °C"
        made += _against(side.about, amount, basis, as_of, when, cold=True)
    return tuple(made)
