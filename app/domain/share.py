"""A read-only link to a battery, one of its tests, or several batteries side by side."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say


class SharePart(StrEnum):
    """A part of the shared page that can be left out; the value is what is stored."""

    FADE = "fade"
    END_OF_LIFE = "end_of_life"
    TESTS = "tests"
    EVENTS = "events"

    @property
    def label(self) -> str:
        return say(_PART_LABELS[self])


_PART_LABELS = {
    SharePart.FADE: N_("the fade, with the chart"),
    SharePart.END_OF_LIFE: N_("when it will no longer hold enough"),
    SharePart.TESTS: N_("the table of tests and how each was done"),
    SharePart.EVENTS: N_("its events, without your notes"),
}


@dataclass(frozen=True)
class Share:
    """A stored link. It opens until it ends or is revoked; times are aware, in UTC.

    discharge_id is the one test it shows, None for the battery; beside are further batteries.
    """

    id: int
    battery_id: int
    token: str
    label: str
    created_at: datetime
    expires_at: datetime | None
    revoked_at: datetime | None
    discharge_id: int | None
    beside: tuple[int, ...]
    shows: frozenset[SharePart]
    views: int
    viewed_at: datetime | None

    def open_at(self, now: datetime) -> bool:
        return self.revoked_at is None and (self.expires_at is None or now < self.expires_at)

    def state_at(self, now: datetime) -> str:
        """Where it stands, in a word."""
        if self.revoked_at is not None:
            return say("revoked")
        return say("open") if self.open_at(now) else say("ended")
