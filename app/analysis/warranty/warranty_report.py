"""Warranty and worth of one battery, computed once for page and JSON."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.warranty.cost_per_kwh import CostPerKwh, worth
from app.analysis.warranty.warranty_claim import Claim, Tested, claim
from app.domain.entities.battery import Battery
from app.domain.finding import EvidenceKind
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say

_ENDED = N_("The years ended on {last_day}: a test now comes too late for them.")
_LAST_QUARTER = N_("Test now: the warranty is in its last quarter and ends on {last_day}.")
_BEFORE_IT = N_(
    "The last quarter to test is {first_day} to {last_day}, when the warranty ends; leave weeks "
    "for a second test and for the maker’s answer."
)
_CYCLES_WERE = N_(
    "The {cycles:g} cycles were used up about {day}, by your estimate of the use; what comes first "
    "ends the warranty."
)
_CYCLES_WILL_BE = N_(
    "The {cycles:g} cycles will be used up about {day}, by your estimate of the use; what comes "
    "first ends the warranty."
)


@dataclass(frozen=True)
class WarrantyReport:
    """ends_on is the last day of the years.

    faster says that the newest tests fall faster than the line through all of them.
    """

    id: int
    name: str
    as_of: date
    rated_ah: float
    from_date: date | None
    years: float | None
    share: float | None
    cycles: float | None
    ends_on: date | None
    last_quarter_from: date | None
    term_words: str
    claim: Claim
    worth: CostPerKwh
    faster: bool = False

    @property
    def ended(self) -> bool:
        return self.ends_on is not None and self.ends_on < self.as_of


def warranty_report(
    battery: Battery, report: BatteryReport, tests: Sequence[Tested]
) -> WarrantyReport:
    """tests holds every test of the battery with its result and its meter."""
    about = battery.details
    terms = about.warranty
    value = worth(
        about,
        [result for _, result, _ in tests if result.kind is not EvidenceKind.UNUSABLE],
        report.end_of_life,
        report.as_of,
    )
    return WarrantyReport(
        id=battery.id,
        name=about.name,
        as_of=report.as_of,
        rated_ah=about.rated_ah,
        from_date=terms.from_date,
        years=terms.years,
        share=terms.share,
        cycles=terms.cycles,
        ends_on=terms.ends_on,
        last_quarter_from=terms.last_quarter_from,
        term_words=_term_words(report.as_of, terms.last_quarter_from, terms.ends_on, value),
        claim=claim(about, tests, report.fade, report.as_of),
        worth=value,
        faster=report.faster,
    )


def _term_words(as_of: date, start: date | None, end: date | None, value: CostPerKwh) -> str:
    """Until when a test can still carry a claim."""
    said = []
    if start is not None and end is not None:
        said.append(say(_term_phase(as_of, start, end), first_day=start, last_day=end))
    reached = value.cycles_reached_on
    if reached is not None and value.promised_cycles is not None:
        words = _CYCLES_WERE if reached <= as_of else _CYCLES_WILL_BE
        said.append(say(words, cycles=value.promised_cycles, day=reached))
    return joined(" ", said) or say("End of warranty unknown: no start or term given.")


def _term_phase(as_of: date, start: date, end: date) -> str:
    if end < as_of:
        return _ENDED
    return _LAST_QUARTER if start <= as_of else _BEFORE_IT
