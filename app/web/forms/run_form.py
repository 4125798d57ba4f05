"""The forms of a running test: how it begins, one reading, how it ends."""

import re
from collections.abc import Mapping
from datetime import UTC, datetime, time, timedelta

from app.domain import quantity
from app.domain.entities.discharge import EndReason
from app.domain.entities.run import ReadingGiven, RunDetails
from app.domain.errors import FieldError, truncate
from app.domain.i18n.message import say
from app.domain.local_clock import offset_minutes
from app.services.entities.meters import MeterChoice
from app.services.entities.run_clock import CLOCKS_DIFFER
from app.web.forms.described_form import read_fields
from app.web.forms.discharge_form import meter_choice
from app.web.forms.form_reader import FormReader

# A time of day as people write it: 14:30, 14.30, 1430, 14 Uhr, 2 pm. An hour alone needs its mark.
_CLOCK = re.compile(
    r"(?P<hour>\d{1,2})(?:[:.](?P<minute>\d{1,2})(?:[:.](?P<second>\d{1,2}))?|(?P<minutes>\d{2})|"
    r"(?=\s*[uhap]))\s*(?:uhr|h|(?P<half>[ap])\.?m\.?)?"
)


def read_start(values: Mapping[str, str], now: datetime) -> tuple[RunDetails, MeterChoice]:
    """How a run begins: now, unless a start is given. Raises InvalidInput."""
    form = FormReader({"reading_every_min": "60", **values})
    started = (
        form.moment("started_at", say("start")) if form.raw("started_at") else now.astimezone()
    )
    details = RunDetails(
        started_at=started.astimezone(UTC),
        utc_offset_minutes=offset_minutes(started),
        meter_id=0,
        **read_fields(form, RunDetails),
    )
    meter = meter_choice(form)
    form.finish()
    return details, meter


def read_reading(
    values: Mapping[str, str], now: datetime, run: RunDetails, at: datetime | None = None
) -> ReadingGiven:
    """One reading, of now or of a time of day today or yesterday. Raises InvalidInput.

    at is the moment of a reading that is corrected, kept where no other time is given.
    """
    form = FormReader(values)
    given = ReadingGiven(
        at=_moment(form, now, run, at),
        current_a=form.number("current_a", quantity.READING_CURRENT),
        voltage_v=form.optional_number("voltage_v", quantity.READING_VOLTAGE),
        temperature_c=form.optional_number("temperature_c", quantity.READING_TEMPERATURE),
        gauge_percent=form.optional_number("gauge_percent", quantity.READING_GAUGE),
        counted_ah=form.optional_number("counted_ah", quantity.READING_COUNT),
    )
    form.finish()
    return given


def read_end(
    values: Mapping[str, str], now: datetime, run: RunDetails
) -> tuple[EndReason, datetime | None]:
    """Why it ended and when. Raises InvalidInput."""
    form = FormReader(values)
    reason = form.choice("end_reason", say("why the test ended"), EndReason)
    ended = _moment(form, now, run, None, "end_clock") if form.raw("end_clock") else None
    form.finish()
    return reason, ended


def _moment(
    form: FormReader, now: datetime, run: RunDetails, at: datetime | None, field: str = "clock"
) -> datetime:
    """A clock time on the run's own clock, the latest that is not in the future; else now."""
    text = form.raw(field)
    name = say("moment of the end") if field == "end_clock" else say("time of the reading")
    if not text:
        # Whole seconds: the same reading sent twice is the same moment.
        return at or now.replace(microsecond=0)
    clock = _typed_clock(text)
    if clock is None:
        form.refuse(name, text, say("a time of day such as 14:30"), field)
        return now
    moment = _latest(clock, now, run)
    if moment is None:
        allowed = say("a time that existed: the clock was set forward past this one")
        form.refuse(name, text, allowed, field)
        return now
    begun = (run.started_at - CLOCKS_DIFFER).astimezone(run.zone)
    if moment.astimezone(run.zone).date() < begun.date():
        # Yesterday cannot be meant: the test had not begun.
        told = say(
            "{clock} is still to come: it is {now}.",
            clock=clock.strftime("%H:%M"),
            now=now.astimezone(run.zone).strftime("%H:%M"),
        )
        form.problems.append(FieldError(told, truncate(text), "", field))
    return moment


def _typed_clock(text: str) -> time | None:
    """None for what is no time of day."""
    found = _CLOCK.fullmatch(text.casefold())
    if found is None:
        return None
    hour, half = int(found["hour"]), found["half"]
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    try:
        return time(hour, int(found["minute"] or found["minutes"] or 0), int(found["second"] or 0))
    except ValueError:
        return None


def _latest(clock: time, now: datetime, run: RunDetails) -> datetime | None:
    """The latest moment with this time of day that is not in the future; None where none was.

    While the clock is set back an hour comes twice: both are looked at. Over the hour that is
    left out in spring, there is none.
    """
    today = now.astimezone(run.zone).date()
    latest = now + CLOCKS_DIFFER
    for day in (today, today - timedelta(days=1)):
        for fold in (1, 0):
            there = datetime.combine(day, clock, run.zone).replace(fold=fold)
            moment = there.astimezone(UTC)
            if moment.astimezone(run.zone).time() != clock:
                return None
            if moment <= latest:
                return moment
    return None
