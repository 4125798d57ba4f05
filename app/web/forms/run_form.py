"""The forms of a running test: how it begins, one reading, how it ends."""

from collections.abc import Mapping
from datetime import UTC, datetime, time, timedelta

from app.domain import quantity
from app.domain.entities.discharge import EndReason
from app.domain.entities.run import ReadingGiven, RunDetails
from app.domain.i18n.message import say
from app.domain.local_clock import offset_minutes
from app.services.entities.meters import MeterChoice
from app.services.entities.run_clock import CLOCKS_DIFFER
from app.web.forms.described_form import read_fields
from app.web.forms.discharge_form import meter_choice
from app.web.forms.form_reader import FormReader


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
    text = form.raw(field).casefold().removesuffix("uhr").strip().replace(".", ":")
    name = say("moment of the end") if field == "end_clock" else say("time of the reading")
    if text.isdecimal() and len(text) in (3, 4):
        text = f"{text[:-2]}:{text[-2:]}"
    if not text:
        # Whole seconds: the same reading sent twice is the same moment.
        return at or now.replace(microsecond=0)
    try:
        clock = datetime.strptime(text, "%H:%M:%S" if text.count(":") == 2 else "%H:%M").time()
    except ValueError:
        form.refuse(name, form.raw(field), say("a time of day such as 14:30"), field)
        return now
    moment = _latest(clock, now, run)
    if moment is None:
        allowed = say("a time that existed: the clock was set forward past this one")
        form.refuse(name, text, allowed, field)
        return now
    return moment


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
