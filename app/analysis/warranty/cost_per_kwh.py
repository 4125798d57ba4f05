"""What a battery was used for so far, against its price and the cycles of its warranty."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from app.analysis.evidence.result import Result
from app.analysis.projection.end_of_life import EndOfLife
from app.domain.entities.battery import BatteryDetails
from app.domain.i18n.message import joined, say
from app.domain.units.time_units import DAYS_PER_YEAR

WH_PER_KWH = 1000


@dataclass(frozen=True)
class Cost:
    """Price per kWh; low or high is None where nothing bounds it on that side."""

    low: float | None
    middle: float | None
    high: float | None


@dataclass(frozen=True)
class CostPerKwh:
    """drawn_kwh and cycles are the owner's estimate, None without one; tested_kwh was counted, less
    the uncertainty (95 %).

    tested_kwh is a lower bound of what was drawn, and the cost by it an upper one. life_cost is
    over the whole projected life, as long as it is used as it is now.
    """

    price: float | None
    currency: str
    drawn_kwh: float | None
    tested_kwh: float
    mean_v: float
    cycles: float | None
    tested_cycles: float
    promised_cycles: float | None
    cycles_reached_on: date | None
    so_far: Cost | None
    life_cost: Cost | None
    words: str


def worth(
    about: BatteryDetails, results: Sequence[Result], end: EndOfLife, as_of: date
) -> CostPerKwh:
    """Energy is amp-hours drawn times the mean voltage of the tests, else the nominal one."""
    tested_ah = sum(_at_least(result) for result in results)
    mean_v = mean_voltage(results, about.nominal_v)
    a_year, since = about.throughput_ah_a_year, about.in_service_since
    drawn_ah = None
    if a_year is not None and since is not None:
        drawn_ah = a_year * (as_of - since).days / DAYS_PER_YEAR
    contradicts = drawn_ah is not None and drawn_ah < tested_ah
    if contradicts:
        # The tests alone drew more than the owner believes: what was counted counts.
        drawn_ah = None
    drawn_kwh = None if drawn_ah is None else drawn_ah * mean_v / WH_PER_KWH
    tested_kwh = tested_ah * mean_v / WH_PER_KWH
    return CostPerKwh(
        price=about.price,
        currency=about.currency,
        drawn_kwh=drawn_kwh,
        tested_kwh=tested_kwh,
        mean_v=mean_v,
        cycles=None if drawn_ah is None else drawn_ah / about.rated_ah,
        tested_cycles=tested_ah / about.rated_ah,
        promised_cycles=about.warranty_cycles,
        cycles_reached_on=cycles_reached_on(about),
        so_far=_so_far(about.price, drawn_kwh, tested_kwh),
        life_cost=_life_cost(about, end, mean_v),
        words=_words(about, drawn_kwh, tested_kwh, contradicts),
    )


def _at_least(result: Result) -> float:
    """What a test drew, less its uncertainty."""
    if result.capacity_ah <= 0:
        return 0.0
    return result.delivered.charge_ah * result.lower_ah / result.capacity_ah


def mean_voltage(results: Sequence[Result], nominal_v: float) -> float:
    """Watt-hours over amp-hours of the tests that read volts."""
    known = [r.delivered for r in results if r.delivered.energy_wh is not None]
    charge = sum(one.charge_ah for one in known)
    return sum(one.energy_wh or 0.0 for one in known) / charge if charge > 0 else nominal_v


def cycles_reached_on(about: BatteryDetails) -> date | None:
    """The day on which the promised cycles are used up, by the owner's estimate of the use.

    A cycle is counted as the rated capacity drawn once, in however many parts.
    """
    a_year, since = about.throughput_ah_a_year, about.in_service_since
    if not a_year or since is None or about.warranty_cycles is None:
        return None
    days = about.warranty_cycles * about.rated_ah / a_year * DAYS_PER_YEAR
    # Beyond a century nobody asks.
    return None if days > 100 * DAYS_PER_YEAR else since + timedelta(days=round(days))


def _so_far(price: float | None, drawn_kwh: float | None, tested_kwh: float) -> Cost | None:
    if price is None or (tested_kwh <= 0 and not drawn_kwh):
        return None
    most = price / tested_kwh if tested_kwh > 0 else None
    return Cost(None, price / drawn_kwh if drawn_kwh else None, most)


def _life_cost(about: BatteryDetails, end: EndOfLife, mean_v: float) -> Cost | None:
    """Price over what it gives from its first day to its projected end (90 %)."""
    a_year, since = about.throughput_ah_a_year, about.in_service_since
    if about.price is None or not a_year or since is None or not end.chances:
        return None

    def cost(day: date | None) -> float | None:
        if day is None or day <= since:
            return None
        years = (day - since).days / DAYS_PER_YEAR
        return (about.price or 0.0) / (a_year * years * mean_v / WH_PER_KWH)

    return Cost(cost(end.p95), cost(end.p50), cost(end.p05))


def _words(
    about: BatteryDetails, drawn_kwh: float | None, tested_kwh: float, contradicts: bool
) -> str:
    if contradicts:
        return say(
            "The tests alone drew more than your estimate of the use gives: the estimate "
            "is left aside, and the {tested_kwh:.1f} kWh of the tests are the least that "
            "was drawn.",
            tested_kwh=tested_kwh,
        )
    tested = say("No test drew anything yet.")
    if tested_kwh > 0:
        tested = say(
            "The tests alone drew {tested_kwh:.1f} kWh, which is the least.", tested_kwh=tested_kwh
        )
    if drawn_kwh is not None:
        estimate = say(
            "About {drawn_kwh:.0f} kWh by your estimate; nobody measured it.",
            drawn_kwh=drawn_kwh,
        )
        return joined(" ", (estimate, tested))
    asked = _asked(about)
    return joined(" ", (tested, asked)) if asked else tested


def _asked(about: BatteryDetails) -> str:
    """What an estimate of the use still needs."""
    if about.in_service_since is not None:
        if about.throughput_ah_a_year is not None:
            return ""
        return say("For an estimate say what you draw in a week or a year.")
    if about.throughput_ah_a_year is not None:
        return say("For an estimate say since when it is in service.")
    return say(
        "For an estimate say what you draw in a week or a year and since when it is in service."
    )
