"""A phone that joins a running test: the code that it scans, and its session for that one test."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

# Long enough to walk to the battery; a photo of the screen is worthless afterwards.
CODE_LASTS = timedelta(minutes=10)
# A test ends long before; one that was forgotten is no door that stays open for ever.
PHONE_LASTS = timedelta(days=14)


@dataclass(frozen=True)
class JoiningCode:
    """What lets one phone join. digest is of the code, which is on the screen alone.

    course names the run from its start, or from when it was taken up again, to its end: what was
    given for one course opens no other. ends_at is aware, in UTC.
    """

    digest: str
    run_id: int
    course: str
    ends_at: datetime

    def open_at(self, now: datetime) -> bool:
        return now < self.ends_at


@dataclass(frozen=True)
class JoinedPhone:
    """A phone in a running test. digest is of its secret, which only the phone has; times are
    aware, in UTC."""

    digest: str
    run_id: int
    course: str
    begun_at: datetime
    used_at: datetime

    @property
    def name(self) -> str:
        """Enough to tell it from the others, and too little to find its secret by."""
        return self.digest[:16]

    def open_at(self, now: datetime) -> bool:
        return now < self.begun_at + PHONE_LASTS


class PhoneStanding(StrEnum):
    """What a phone is to a test: in it, in one that is over, or not (any more) let in."""

    JOINED = "joined"
    OVER = "over"
    UNKNOWN = "unknown"
