"""What a report hangs on, as a key: as long as it is equal, so is whatever is made of it.

Nothing kept under such a key can be out of date: another row, another day, another key.
"""

from collections.abc import Collection, Hashable
from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from app.storage.repositories.change_stamps import stamps


@dataclass(frozen=True)
class RecordState:
    """The stamp of a battery's records, and the day on which they are looked at, if it matters."""

    stamp: str
    today: date | None
    more: Hashable = None

    def with_more(self, more: Hashable) -> "RecordState":
        """The same together with what else is asked or known."""
        return RecordState(self.stamp, self.today, (self.more, more))


def state_of(session: Session, battery_id: int, today: date | None) -> RecordState:
    """The state of one battery within a session, what it is about to store included."""
    return states_of(session, [battery_id], today)[battery_id]


def states_of(
    session: Session, battery_ids: Collection[int], today: date | None
) -> dict[int, RecordState]:
    """The same of several batteries, by their numbers."""
    found = stamps(session, battery_ids)
    return {number: RecordState(stamp, today) for number, stamp in found.items()}
