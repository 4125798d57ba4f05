"""A picture of the meter or the label that belongs to a test."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from hashlib import sha256

from app.domain.i18n.message import long_day, say

UPLOAD_LIMIT_MB = 20
MAX_PER_TEST = 12


@dataclass(frozen=True)
class Picture:
    """A JPEG as it is stored: upright, bounded, without anything but what is to be seen."""

    jpeg: bytes
    width: int
    height: int

    @cached_property
    def sha256(self) -> str:
        return sha256(self.jpeg).hexdigest()


@dataclass(frozen=True)
class Photo:
    """What is known of a stored photo; its bytes are loaded when they are asked for."""

    id: int
    discharge_id: int
    caption: str
    added_at: datetime
    width: int
    height: int
    sha256: str

    def words(self, tested_on: date) -> str:
        """Its caption, or what can be said without one."""
        return self.caption or say("Photo of the meter, {day}", day=long_day(tested_on))
