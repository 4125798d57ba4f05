"""A read-only link to one battery."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Share:
    """A stored link. It opens until it ends or is revoked; times are aware, in UTC."""

    id: int
    battery_id: int
    token: str
    label: str
    created_at: datetime
    expires_at: datetime | None
    revoked_at: datetime | None

    def open_at(self, now: datetime) -> bool:
        return self.revoked_at is None and (self.expires_at is None or now < self.expires_at)

    def state_at(self, now: datetime) -> str:
        if self.revoked_at is not None:
            return "revoked"
        return "open" if self.open_at(now) else "ended"
