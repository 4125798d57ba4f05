"""The form that opens something on the network: at which address, and for how long."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from enum import StrEnum

from app.domain.errors import FadelineError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.local_clock import LOCAL_CLOCK
from app.domain.network import NetworkAddress
from app.web.forms.form_reader import FormReader

NO_ADDRESS = N_(
    "This machine is in no network. Connect it to a Wi-Fi, or to the hotspot of a phone, then try "
    "again."
)
_LAST_MINUTE = time(23, 59)
# Late in the evening the end of the day is too near to be of use.
MIN_OPEN = timedelta(hours=1)


class OpenFor(StrEnum):
    """How long it stays open."""

    HOUR = "hour"
    DAY = "day"
    THREE_DAYS = "three_days"

    def until(self, now: datetime) -> datetime:
        """The moment that it closes at, by the clock of this machine."""
        if self is OpenFor.HOUR:
            return now + MIN_OPEN
        days = timedelta(days=0 if self is OpenFor.DAY else 2)
        last = (now.astimezone() + days).date()
        end = datetime.combine(last, _LAST_MINUTE, LOCAL_CLOCK).astimezone(UTC)
        return max(end, now + MIN_OPEN)


def lasting_choices(now: datetime) -> tuple[tuple[str, str], ...]:
    """The choices of a form, each with the moment that it ends at."""
    until = tuple(
        (one.value, say("until {moment}", moment=one.until(now).astimezone()))
        for one in (OpenFor.DAY, OpenFor.THREE_DAYS)
    )
    return ((OpenFor.HOUR.value, say("for an hour")), *until)


@dataclass(frozen=True)
class GivenOpening:
    """Where and until when something is opened."""

    address: str
    until: datetime


def read_opening(
    values: Mapping[str, str], known: Sequence[NetworkAddress], now: datetime
) -> GivenOpening:
    """The form; whatever it leaves out is the likely choice.

    Raises InvalidInput, and FadelineError where this machine has no address.
    """
    if not known:
        raise FadelineError(say(NO_ADDRESS))
    reader = FormReader({"open_for": OpenFor.DAY.value, **values})
    until = reader.choice("open_for", say("how long it is open"), OpenFor).until(now)
    reader.finish()
    return GivenOpening(values.get("address", "") or known[0].address, until)
