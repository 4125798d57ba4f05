"""Whether a test can have been when it is said to have been."""

from collections.abc import Iterable
from datetime import datetime

from app.analysis.plausibility.questions import Alternative, Doubt, DoubtKind, Known, as_it_stands
from app.domain.i18n.message import say
from app.domain.units.time_units import DAYS_PER_YEAR, SECONDS_PER_DAY, SECONDS_PER_HOUR

# So far from every other test a start is rather a slip in the year (common practice).
FAR_YEARS = 2.5


def far_start(known: Known) -> Iterable[Doubt]:
    """A start years away from today and from every other test, or before the battery's service."""
    if known.started_at is None:
        return
    start = known.started_at
    near = [one.started_at for one in known.others] + ([known.now] if known.now else [])
    if not near:
        return
    apart = [abs((start - one).total_seconds()) / SECONDS_PER_DAY / DAYS_PER_YEAR for one in near]
    years = min(apart)
    if years <= FAR_YEARS:
        yield from _before_service(start, known.in_service_since)
        return
    instead = (known.now or near[apart.index(years)]).year
    yield Doubt(
        DoubtKind.START,
        None,
        float(start.year),
        (
            Alternative(str(instead), value=float(instead)),
            as_it_stands(None, float(start.year)),
        ),
        say(
            "The test starts {years:.0f} years away from today and from every other test.",
            years=years,
        )
        if known.others
        else say("The test starts {years:.0f} years away from today.", years=years),
    )


def _before_service(start: datetime, since: datetime | None) -> Iterable[Doubt]:
    if since is None or start >= since:
        return
    early = (since - start).total_seconds() / SECONDS_PER_DAY
    yield Doubt(
        DoubtKind.START,
        None,
        early,
        (Alternative(say("it started at another time")), as_it_stands(None, early)),
        say(
            "The test is before {since}, the day since which the battery is in service.",
            since=since.date(),
        ),
    )


def overlap(duration_s: float, known: Known) -> Iterable[Doubt]:
    """A test during which another one of the same battery ran."""
    if known.started_at is None:
        return
    begin = known.started_at.timestamp()
    end = begin + duration_s
    for other in known.others:
        first = other.started_at.timestamp()
        if first == begin or other.duration_s is None:
            # Two of one start are refused anyway.
            continue
        shared_s = min(end, first + other.duration_s) - max(begin, first)
        if shared_s > 0:
            yield Doubt(
                DoubtKind.OVERLAP,
                None,
                shared_s / SECONDS_PER_HOUR,
                (
                    Alternative(say("it started at another time")),
                    as_it_stands(None, shared_s / SECONDS_PER_HOUR),
                ),
                say(
                    "This test overlaps {other} by {shared_h:.1f} h: one battery cannot run two "
                    "tests at once.",
                    shared_h=shared_s / SECONDS_PER_HOUR,
                    other=other.name,
                ),
            )
            return


def same_day(day_of: datetime, charge_ah: float | None, known: Known) -> Iterable[Doubt]:
    """Another test on the day of one of which only the result was noted; charge_ah is that."""
    day = day_of.date()
    for other in known.others:
        if other.started_at.astimezone(day_of.tzinfo).date() != day:
            continue
        same = charge_ah is not None and charge_ah == other.charge_ah
        yield Doubt(
            DoubtKind.OVERLAP,
            None,
            0.0,
            (Alternative(say("another day")), as_it_stands(None, 0.0)),
            say(
                "For this day you have already stored {other}, with the same result.",
                other=other.name,
            )
            if same
            else say(
                "For this day you have already stored {other}: this may be the same test.",
                other=other.name,
            ),
        )
        return
