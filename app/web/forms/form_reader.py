"""Reading a form: every field is looked at, all problems are told at once, nothing is lost."""

from collections.abc import AsyncIterator, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Annotated, TypeVar

from fastapi import Depends, Request
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException

from app.domain.errors import EditConflict, FadelineError, FieldError, InvalidInput, truncate
from app.domain.i18n.message import joined, say
from app.domain.legible import can_be_seen, legible
from app.domain.quantity import Quantity, celsius_of
from app.domain.units.time_units import EARLIEST_YEAR
from app.domain.units.unit import POINTED_THOUSANDS
from app.web.forms.typed_dates import names_no_day, typed_date
from app.web.forms.typed_units import POINT_IN_THOUSANDS, is_in_fahrenheit
from app.web.request import reader_of

Choice = TypeVar("Choice", bound=StrEnum)
PART_LIMIT = 64_000_000
FIELD_LIMIT = 20_000
SEEN = "seen"


async def read_form(request: Request) -> FormData:
    """The parsed form, read once; files are spooled to disk. Raises InvalidInput."""
    try:
        return await request.form(max_fields=FIELD_LIMIT, max_part_size=PART_LIMIT)
    except HTTPException as error:
        limit = say(
            "a form of at most {size_mb} MB a field and {count} fields",
            size_mb=PART_LIMIT // 1_000_000,
            count=FIELD_LIMIT,
        )
        raise InvalidInput.because(say("form"), str(error.detail), limit) from error


async def posted(request: Request) -> AsyncIterator[FormData]:
    """Dependency: the parsed form, and whether its reader may set a point between thousands."""
    form = await read_form(request)
    comma = reader_of(request).preferences.comma
    try:
        yield FormData([*form.multi_items(), (POINT_IN_THOUSANDS, "yes")]) if comma else form
    finally:
        await form.close()


# What a page that takes a form asks for.
Posted = Annotated[FormData, Depends(posted)]


def texts(form: FormData) -> dict[str, str]:
    """The fields that are text, the last of equal names."""
    return {name: value for name, value in form.multi_items() if isinstance(value, str)}


def safe_redirect_path(text: str) -> str:
    """An address to go on to, if it is one of this server's pages; else the first page.

    One that begins with two slashes names another server. Browsers take a backslash for a slash and
    leave out control characters (WHATWG URL).
    """
    odd = any(letter <= " " or letter in "\\\x7f" for letter in text)
    return text if text.startswith("/") and not text.startswith("//") and not odd else "/"


def base_version(values: Mapping[str, str]) -> int | None:
    """The version that a form was filled from; None where it does not say."""
    text = values.get(SEEN, "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else None


def asked_again(values: Mapping[str, str], error: FadelineError) -> Mapping[str, str]:
    """The values of a form that is shown again: who was shown another version has seen it."""
    return {**values, SEEN: str(error.version)} if isinstance(error, EditConflict) else values


def upload(form: FormData, name: str) -> UploadFile | None:
    """An uploaded file, None where the field was left empty."""
    value = form.get(name)
    return value if isinstance(value, UploadFile) and value.filename else None


def uploads(form: FormData, name: str) -> list[UploadFile]:
    """Every uploaded file of a field that takes several."""
    given = form.getlist(name)
    return [one for one in given if isinstance(one, UploadFile) and one.filename]


def typed(value: float | None, quantity: Quantity | None = None) -> str:
    """A stored number as a form shows it: read again, it is the same to the last bit.

    Of exactly three decimals it has a fourth where people write thousands: 98.4120 is none.
    """
    if value is None:
        return ""
    text = repr(float(value)).removesuffix(".0")
    doubtful = quantity is not None and quantity.in_thousands and POINTED_THOUSANDS.fullmatch(text)
    return f"{text}0" if doubtful else text


class FormReader:
    """Reads typed values and collects problems; `finish` refuses where there are any.

    After a problem a reader returns a stand-in, which nobody sees: finish comes first.
    """

    def __init__(self, values: Mapping[str, str]) -> None:
        self._values = values
        self.problems: list[FieldError] = []

    @property
    def fine(self) -> bool:
        """Whether no problem was found so far."""
        return not self.problems

    def finish(self) -> None:
        if self.problems:
            raise InvalidInput(self.problems)

    def raw(self, name: str) -> str:
        return self._values.get(name, "").strip()

    def text(self, name: str, label: str, longest: int, *, required: bool = False) -> str:
        value = legible(self.raw(name)).strip()
        if required and not can_be_seen(value):
            self.refuse(label, value, say("1 to {longest} characters", longest=longest), name)
        elif len(value) > longest:
            allowed = say(
                "at most {longest} characters (these are {count})",
                longest=longest,
                count=len(value),
            )
            self.refuse(label, value, allowed, name)
        return value

    def number(self, name: str, quantity: Quantity, label: str = "") -> float:
        value = self.optional_number(name, quantity, label)
        if value is None:
            if not self.raw(name):
                allowed = self._as_asked(quantity).allowed
                self.refuse(label or quantity.label, "", allowed, name)
            return quantity.high
        return value

    def optional_number(self, name: str, quantity: Quantity, label: str = "") -> float | None:
        """A number in the unit of the quantity; a temperature was typed in the unit of the form."""
        text = self.raw(name)
        if not text:
            return None
        asked, points = self._as_asked(quantity), POINT_IN_THOUSANDS in self._values
        try:
            value = asked.parse(text, label or quantity.label, name, points_thousands=points)
        except InvalidInput as refused:
            self.problems += refused.problems
            return None
        return value if asked is quantity else celsius_of(value)

    def _as_asked(self, quantity: Quantity) -> Quantity:
        """The quantity in the unit of the form."""
        typed_in_f = quantity.unit == "°C" and is_in_fahrenheit(self._values)
        return quantity.in_fahrenheit if typed_in_f else quantity

    def choice(self, name: str, label: str, kind: type[Choice]) -> Choice:
        text = self.raw(name)
        try:
            return kind(text)
        except ValueError:
            choices = joined("; ", (say(getattr(one, "label", one.value)) for one in kind))
            allowed = say("one of: {choices}", choices=choices) if text else choices
            self.refuse(label, text, allowed, name)
            return next(iter(kind))

    def answer(self, name: str, kind: type[Choice]) -> Choice | None:
        """A choice that may be left open; None, too, for what is none of them."""
        text = self.raw(name)
        return next((one for one in kind if one.value == text), None)

    def optional_day(self, name: str, label: str, latest: date) -> date | None:
        text = self.raw(name)
        if not text:
            return None
        value = typed_date(text)
        if value is None or not date(EARLIEST_YEAR, 1, 1) <= value <= latest:
            allowed = _until(latest)
            if value is not None and value > latest:
                allowed = say("a day that is not in the future, so {range}", range=allowed)
            elif names_no_day(text):
                allowed = say("a day that exists, so {range}", range=allowed)
            self.refuse(label, text, allowed, name)
            return None
        return value

    def day(self, name: str, label: str, latest: date) -> date:
        value = self.optional_day(name, label, latest)
        if value is None and not self.raw(name):
            self.refuse(label, "", _until(latest), name)
        return value or latest

    def moment(self, name: str, label: str) -> datetime:
        """A local date and time; aware, in the time zone of this machine."""
        text = self.raw(name)
        day, _, clock = text.rpartition(" ")
        try:
            value = datetime.fromisoformat(
                text if (on := typed_date(day)) is None else f"{on} {clock}"
            )
            if not EARLIEST_YEAR <= value.year <= 9000:
                raise ValueError
            return value.astimezone()
        except (ValueError, OverflowError):
            self.refuse(label, text, say("a date and time such as 2026-03-31 08:30"), name)
            return datetime.now(UTC)

    def hint(self, name: str, more: str) -> None:
        """Add to what is allowed in a field that was refused."""
        self.problems = [
            replace(one, allowed=one.allowed + more) if one.field == name else one
            for one in self.problems
        ]

    def refuse(self, where: str, value: str, allowed: str, name: str) -> None:
        self.problems.append(FieldError(where, truncate(value), allowed, name))


def _until(latest: date) -> str:
    """Dates that are allowed, in the reader's order, in which they can be typed, too."""
    earliest = date(EARLIEST_YEAR, 1, 1)
    return say("a date from {earliest} to today ({latest})", earliest=earliest, latest=latest)
