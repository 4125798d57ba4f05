"""Who gets in from elsewhere: one owner with a passphrase, on devices that signed in."""

from dataclasses import dataclass
from datetime import datetime, timedelta

# One factor alone: the 15 characters that NIST SP 800-63B-4 asks for then (from memory). Lists of
# usual passwords hold hardly any so long.
MIN_PASSPHRASE_LENGTH, MAX_PASSPHRASE_LENGTH = 15, 200
MIN_DIFFERENT = 6
# A running test is looked at each hour of a day, and a device that is lost should not stay open.
IDLE = timedelta(hours=24)
ABSOLUTE = timedelta(days=14)


@dataclass(frozen=True)
class DeviceSession:
    """A device that signed in. digest is of its secret, which only the device has; times are aware,
    in UTC."""

    digest: str
    begun_at: datetime
    used_at: datetime

    def open_at(self, now: datetime) -> bool:
        return now < self.begun_at + ABSOLUTE and now < self.used_at + IDLE
