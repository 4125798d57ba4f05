"""This machine's own clock as a time zone: with its changes between winter and summer."""

from datetime import UTC, datetime, timedelta, tzinfo


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
