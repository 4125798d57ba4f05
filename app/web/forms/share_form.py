"""The form of a read-only link: for whom, how long, and what it shows."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from app.domain.errors import InvalidInput, truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.limits import MAX_NAME_LENGTH
from app.domain.share import SharePart
from app.services.access.shares import ShareWish
from app.web.forms.form_reader import FormReader


class Lasting(StrEnum):
    """How long a link opens, in days."""

    WEEK = "7"
    MONTH = "30"
    QUARTER = "91"
    YEAR = "365"
    FOR_GOOD = "0"

    @property
    def label(self) -> str:
        return say(_LASTING_LABELS[self])


_LASTING_LABELS = {
    Lasting.WEEK: N_("a week"),
    Lasting.MONTH: N_("30 days"),
    Lasting.QUARTER: N_("three months"),
    Lasting.YEAR: N_("a year"),
    Lasting.FOR_GOOD: N_("until revoked"),
}
# What a form that asks for a link without choosing has: everything, for a month.
ALL_PARTS = {f"show_{part.value}": "on" for part in SharePart}
DEFAULTS = {"lasting": Lasting.MONTH.value, "chosen": "yes", **ALL_PARTS}


@dataclass(frozen=True)
class GivenShare:
    """A link as the form gives it."""

    label: str
    expires_at: datetime | None
    wish: ShareWish


def read_share(values: Mapping[str, str], now: datetime) -> GivenShare:
    """The whole form. Raises InvalidInput."""
    reader = FormReader({"lasting": Lasting.MONTH.value, **values})
    label = reader.text("label", say("for whom"), MAX_NAME_LENGTH)
    days = int(reader.choice("lasting", say("how long it stays open"), Lasting))
    reader.finish()
    return GivenShare(label, now + timedelta(days=days) if days else None, read_wish(values))


def read_wish(values: Mapping[str, str]) -> ShareWish:
    """What the link is to show. Raises InvalidInput where a number is none."""
    if not values.get("chosen"):
        values = {**values, **ALL_PARTS}
    test = values.get("test", "")
    return ShareWish(
        shows=frozenset(part for part in SharePart if values.get(f"show_{part.value}")),
        discharge_id=_number(test, "test") if test else None,
        beside=tuple(
            _number(name.removeprefix("beside_"), name)
            for name, value in values.items()
            if name.startswith("beside_") and value
        ),
    )


def _number(text: str, field: str) -> int:
    if text.isascii() and text.isdigit() and len(text) < 16:
        return int(text)
    raise InvalidInput.because(
        say("what it shows"), truncate(text), say("the number of a test or battery"), field
    )
