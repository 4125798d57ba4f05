"""What a report hangs on, as a key: as long as it is equal, so is whatever is made of it.

Nothing kept under such a key can be out of date: another row, another day, another key.
"""

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from app.storage.repositories import report_digest


@dataclass(frozen=True)
class RecordState:
    """All records of a battery as a digest, and the day on which they are looked at, if it
    matters."""

    records: str
    today: date | None
    more: Hashable = None

    def with_more(self, more: Hashable) -> "RecordState":
        """The same together with what else is asked or known."""
        return RecordState(self.records, self.today, (self.more, more))


def state_of(session: Session, battery_id: int, today: date | None) -> RecordState:
    """The state of one battery within a session, what it is about to store included."""
    session.flush()
    return RecordState(report_digest.digests(session, [battery_id])[battery_id], today)
