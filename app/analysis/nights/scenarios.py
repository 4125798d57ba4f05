"""How many nights: now, in a cold week, at a date, alone or with a second battery."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.battery.capacity_forecast import Basis, Interval, capacity_ahead, last_day_known
from app.analysis.nights.cold_derating import ColdShare, cold_share
from app.analysis.nights.nights import Nights, nights_of
from app.analysis.nights.parallel_batteries import (
    BatteryCapacity,
    basis_of,
    check_pair,
    pair_usable,
)
from app.analysis.nights.use_cases import UseCase, uses_of
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say

_ALLOWED = N_("a date from today ({today}) to {until}, 30 years after the first test")
_TODAY_ALONE = N_("a date from today ({today}) to {until}; it takes a measured test to look ahead")


@dataclass(frozen=True)
class Scenario:
    """One line of the answer; nights is None where nothing can be said, and words say why."""

    label: str
    nights: Nights | None
    words: str
    cold: bool = False
    charged: bool = False


def check_day(day: date | None, as_of: date, last_day: date | None) -> None:
    """Raises InvalidInput for a day that nothing is known of."""
    if day is None:
        return
    until = last_day or as_of
    if not as_of <= day <= until:
        allowed = say(_ALLOWED if last_day else _TODAY_ALONE, today=as_of, until=until)
        raise InvalidInput.because(say("date"), str(day), allowed, "on")


def situations_of(
    cases: Sequence[UseCase], cold: ColdShare | None, as_of: date, on_date: date | None
) -> tuple[Scenario, ...]:
    """Now and on the day asked for, each warm and in the cold."""
    made = []
    for day in (as_of, on_date):
        if day is None or (cases and cases[0].side.ahead.basis is not Basis.TESTS and day != as_of):
            continue
        when = _when(day, as_of)
        for case in cases:
            where = () if case.cold is None else (_in_the_cold(case.cold),)
            # What it holds today is one and the same, whatever is asked of it later.
            found = case.nights_on(day, cases[0].side.ahead if day == as_of else None)
            label, charged = joined(", ", (when, *where, case.how)), case.use.charge_ah > 0
            made.append(Scenario(label, found, found.words, case.cold is not None, charged))
    if cases and cold is not None and cold.middle is None:
        label = say("In a cold week at {temperature}", temperature=cold.at)
        made.append(Scenario(label, None, cold.words))
    return tuple(made)


def _when(day: date, as_of: date) -> str:
    return say("Now") if day == as_of else say("On {day}", day=day)


def _in_the_cold(cold: ColdShare) -> str:
    return say("in a cold week at {temperature}", temperature=cold.at)


def _against(
    about: BatteryDetails, amount: Interval, basis: Basis, day: date, when: str, *, cold: bool
) -> list[Scenario]:
    """What that amount does against the use, without charging and with it."""
    made = []
    for how, use in uses_of(about, cold=cold):
        found = nights_of(amount, use, basis, day)
        made.append(Scenario(joined(", ", (when, how)), found, found.words))
    return made


def pair_situations(
    side: BatteryCapacity, beside: tuple[Battery, BatteryReport], as_of: date, on_date: date | None
) -> tuple[Scenario, ...]:
    """Both together, against the first one's use. Raises InvalidInput (see check_pair)."""
    about, report = beside[0].details, beside[1]
    check_pair(side.about, about)
    days = (as_of,) if on_date is None else (as_of, on_date)
    if on_date is not None and (known := last_day_known(report.points)) is not None:
        check_day(on_date, as_of, known)
    cold = None if side.cold is None else cold_share(about, side.cold.temperature_c)
    other = BatteryCapacity(about, capacity_ahead(about, report, days), cold)
    basis = basis_of(side, other)
    made = []
    for day in days if basis is Basis.TESTS else (as_of,):
        when = _when(day, as_of)
        amount = pair_usable(side.warm, other.warm, day, later=day != as_of)
        made += _against(side.about, amount, basis, day, when, cold=False)
    if side.cold is not None and side.cold.middle is not None and cold and cold.middle is not None:
        amount = pair_usable(side, other, as_of, later=False)
        when = joined(", ", (_when(as_of, as_of), _in_the_cold(cold)))
        made += _against(side.about, amount, basis, as_of, when, cold=True)
    return tuple(made)
