"""Which backups are kept as they grow old."""

from collections.abc import Hashable, Iterable
from datetime import UTC, datetime, timedelta

ALL_FOR = timedelta(days=1)
DAILY_FOR = timedelta(days=7)
WEEKLY_FOR = timedelta(days=61)
MONTHLY_FOR = timedelta(days=731)


def kept(moments: Iterable[datetime], now: datetime) -> frozenset[datetime]:
    """The moments to keep: all of a day, then one a day, a week and a month, and the newest always.

    Of each bucket the newest stays. Buckets are days, weeks and months of the calendar in UTC, so
    that what was kept yesterday is not judged anew by today's distance. Moments after now are kept:
    a clock that was set back says nothing about them.
    """
    given = set(moments)
    ahead = {moment for moment in given if moment > now}
    past = sorted(given - ahead, reverse=True)
    newest_of: dict[Hashable, datetime] = {}
    for moment in past:
        bucket = _bucket(moment, now - moment)
        if bucket is not None:
            newest_of.setdefault(bucket, moment)
    return frozenset({*ahead, *past[:1], *newest_of.values()})


def _bucket(moment: datetime, age: timedelta) -> Hashable | None:
    """What this moment shares its place with; None where nothing is kept any more."""
    there = moment.astimezone(UTC)
    if age <= ALL_FOR:
        return moment
    if age <= DAILY_FOR:
        return ("day", there.date())
    if age <= WEEKLY_FOR:
        return ("week", *there.isocalendar()[:2])
    if age <= MONTHLY_FOR:
        return ("month", there.year, there.month)
    return None
