"""This machine's own clock as a time zone: with its changes between winter and summer."""

from datetime import UTC, date, datetime, timedelta, tzinfo


class LocalClock(tzinfo):
    """Follows the platform's local time, whatever zone it is set to."""

    def utcoffset(self, moment: datetime | None) -> timedelta | None:
        return None if moment is None else moment.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, _moment: datetime | None) -> timedelta | None:
        return None

    def tzname(self, moment: datetime | None) -> str | None:
        return None if moment is None else moment.replace(tzinfo=None).astimezone().tzname()

    def fromutc(self, moment: datetime) -> datetime:
        return moment.replace(tzinfo=UTC).astimezone().replace(tzinfo=self)


LOCAL_CLOCK = LocalClock()


def day_here(moment: datetime) -> date:
    """The day of a moment by this machine's own clock."""
    return moment.astimezone().date()


def offset_minutes(moment: datetime) -> int:
    """By how many minutes the moment's own clock is ahead of UTC; 0 where it does not say."""
    offset = moment.utcoffset()
    return 0 if offset is None else round(offset / timedelta(minutes=1))
