"""When a test began, from its form: a day once, and the time of the first reading."""

from datetime import UTC, date, datetime, time, timedelta

from app.domain.entities.discharge import DischargeDetails
from app.domain.errors import FieldError, truncate
from app.domain.i18n.message import say
from app.domain.units.time_units import EARLIEST_YEAR, SECONDS_PER_DAY, since_midnight_s
from app.domain.units.unit import as_clock_span, clock_span_s
from app.services.exchange.staged_upload import Source
from app.web.forms.form_reader import FormReader

SAME_MINUTE_S = 60.0
SAME_START = timedelta(minutes=5)


def shown_start(details: DischargeDetails) -> dict[str, str]:
    """The start of a stored test as its form shows it; of a noted result no more than the day."""
    local = details.started_local
    clock = "" if details.is_only_result else local.time().isoformat(timespec="seconds")
    return {"day": local.date().isoformat(), "start_time": clock.removesuffix(":00")}


def read_start(
    form: FormReader, source: Source | None, before: DischargeDetails | None, today: date
) -> datetime:
    """The start as typed, or of the file, or of the first reading; they must not contradict.

    source is None where the readings cannot be read yet. An edit is read by the clock of the place
    where the test was entered, as it is shown.
    """
    in_file = _in_file(form, source)
    if in_file is not None and not (form.raw("day") or form.raw("start_time")):
        return in_file
    if before is not None and shown_start(before) == _typed(form):
        given = before.started_local
    else:
        given = _given(form, source, in_file, before, today)
    if in_file is not None and form.fine and abs(given - in_file) > SAME_START:
        _refuse_other_start(form, given, in_file)
    if source is not None:
        _check_first_time(form, given, source, before)
    return given


def day_noted(form: FormReader, before: DischargeDetails | None, today: date) -> datetime:
    """The day of a test of which no more is known, as its first moment."""
    day = form.day("day", say("day"), today)
    if before is not None and before.is_only_result and before.started_local.date() == day:
        return before.started_local
    return datetime.combine(day, time()).astimezone()


def _typed(form: FormReader) -> dict[str, str]:
    return {name: form.raw(name) for name in ("day", "start_time")}


def _in_file(form: FormReader, source: Source | None) -> datetime | None:
    in_file = None if source is None else source.started_at
    if in_file is None:
        return None
    if in_file.year < EARLIEST_YEAR:
        form.refuse(
            say("start in the file"), str(in_file), say("a date from 1970 up to now"), "file"
        )
        return in_file.replace(year=EARLIEST_YEAR, tzinfo=UTC)
    return in_file.astimezone() if in_file.tzinfo is None else in_file


def _refuse_other_start(form: FormReader, given: datetime, in_file: datetime) -> None:
    """Name the field that contradicts the file: the day, or the time where the days agree."""
    local = in_file.astimezone(given.tzinfo)
    if given.date() != local.date() or not form.raw("start_time"):
        words = say(
            "The readings begin on {start:%Y-%m-%d}, but you typed {typed}. Correct “Day”, or "
            "clear it: then the day of the readings counts.",
            start=local,
            typed=truncate(form.raw("day") or form.raw("start_time")),
        )
        form.problems.append(FieldError(words, "", "", "day"))
        return
    words = say(
        "The readings begin at {start:%H:%M}, but you typed {typed}. Correct “Start time”, or "
        "clear it: then the time of the readings counts.",
        start=local,
        typed=truncate(form.raw("start_time")),
    )
    form.problems.append(FieldError(words, "", "", "start_time"))


def _given(
    form: FormReader,
    source: Source | None,
    in_file: datetime | None,
    before: DischargeDetails | None,
    today: date,
) -> datetime:
    """The typed day at the typed time, else at the time that the readings begin with."""
    if in_file is not None and not form.raw("day"):
        day = in_file.date()
    else:
        day = form.day("day", say("day"), today)
    clock_s = _typed_clock_s(form)
    if clock_s is None and in_file is not None:
        return in_file if day == in_file.date() else datetime.combine(day, time()).astimezone()
    if clock_s is None:
        clock_s = _first_clock_s(form, source)
    given = datetime.combine(day, time()) + timedelta(seconds=clock_s)
    if before is not None:
        local = before.started_local
        if before.started_at.astimezone().utcoffset() != local.utcoffset():
            return given.replace(tzinfo=local.tzinfo)
    return given.astimezone()


def _typed_clock_s(form: FormReader) -> float | None:
    """Seconds since midnight of the typed time; None for nothing, and for what was refused."""
    text = form.raw("start_time")
    if not text:
        return None
    seconds = clock_span_s(text)
    if seconds is None or seconds >= SECONDS_PER_DAY:
        form.refuse(say("start time"), text, say("a time such as 08:30"), "start_time")
        return 0.0
    return seconds


def _first_clock_s(form: FormReader, source: Source | None) -> float:
    """The clock time of the first reading. One of 0:00 counts from the start and does not tell."""
    if source is None:
        return 0.0
    first = source.first_clock_s
    if first is not None and 0 < first < SECONDS_PER_DAY:
        return first
    allowed = say("the time the load came on, such as 08:30, because the readings do not give it")
    form.refuse(say("start time"), "", allowed, "start_time")
    return 0.0


def _check_first_time(
    form: FormReader, started: datetime, source: Source, before: DischargeDetails | None
) -> None:
    """The first reading belongs to the moment the load came on: 0:00, or the start's clock time.

    The rows of an edited test show the clock of its old start: a new one moves them along.
    """
    first = source.first_clock_s
    if first is None or not form.fine:
        return
    clock = since_midnight_s(started)
    if first == 0 or abs(first - clock) <= SAME_MINUTE_S:
        return
    if before is not None and abs(first - since_midnight_s(before.started_local)) < 1:
        return
    allowed = say(
        "{start:%H:%M}, the start of the test, or 0:00; add a reading for that moment",
        start=started,
    )
    form.refuse(
        say("first time of the readings"), as_clock_span(first // 60 * 60), allowed, "time_0"
    )
