"""When a test ended, from its form: by the clock, or by the hours since its start."""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, time, timedelta

from app.domain.entities.discharge import DischargeDetails
from app.domain.errors import FieldError
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR
from app.domain.units.unit import clock_span_s
from app.web.forms.form_reader import FormReader, typed
from app.web.forms.start_of_test import SAME_MINUTE_S, shown_start

OFF_AT, HOURS = "off_at", "ended_after_h"


def shown_end(details: DischargeDetails) -> dict[str, str]:
    """The clock time of a stored end as its form shows it; nothing where it was not noted."""
    if details.ended_after_h is None:
        return {}
    end = details.started_local + timedelta(seconds=round(details.ended_after_h * SECONDS_PER_HOUR))
    return {OFF_AT: end.time().isoformat(timespec="seconds").removesuffix(":00")}


def read_end(
    form: FormReader,
    hours: float | None,
    started: datetime,
    last_s: float,
    before: DischargeDetails | None,
) -> float | None:
    """Hours from the start to the end; hours is what was typed as such.

    A clock time is the one nearest to the last reading, last_s after the start. In an edit both
    are shown, and the one that was changed counts.
    """
    text = form.raw(OFF_AT)
    if not text or not form.fine:
        return hours
    if before is not None and text == shown_end(before).get(OFF_AT):
        same_start = all(form.raw(name) == shown for name, shown in shown_start(before).items())
        if same_start or _hours(form) != typed(before.ended_after_h):
            return hours
    clock_s = clock_span_s(text)
    if clock_s is None or clock_s >= SECONDS_PER_DAY:
        form.refuse(say("moment of the end"), text, say("a time such as 18:12"), OFF_AT)
        return hours
    found = _hours_until(clock_s, started, last_s, before)
    kept = before is not None and _hours(form) == typed(before.ended_after_h)
    if hours is not None and not kept and abs(found - hours) * SECONDS_PER_HOUR > SAME_MINUTE_S:
        allowed = say(
            "{hours:.2f} hours after the start, as the clock time says, or nothing", hours=found
        )
        form.refuse(say("hours until the end"), form.raw(HOURS), allowed, HOURS)
    return found


def at_the_clock(
    problems: Sequence[FieldError], values: Mapping[str, str], before: DischargeDetails | None
) -> list[FieldError]:
    """What is wrong with the end, at the clock time where that alone was typed."""
    shown = {HOURS: ""} if before is None else {HOURS: typed(before.ended_after_h)}
    shown |= {} if before is None else shown_end(before)
    clock, hours = values.get(OFF_AT, ""), values.get(HOURS, "").replace(",", ".")
    if clock in ("", shown.get(OFF_AT)) or hours not in ("", shown[HOURS]):
        return list(problems)
    allowed = say("a moment under load, from the second reading to soon after the last one")
    said = FieldError(say("moment of the end"), clock, allowed, OFF_AT)
    return [said if one.field == HOURS else one for one in problems]


def _hours(form: FormReader) -> str:
    """The hours as typed, with the decimal sign that `typed` writes."""
    return form.raw(HOURS).replace(",", ".")


def _hours_until(
    clock_s: float, started: datetime, last_s: float, before: DischargeDetails | None
) -> float:
    """Hours from the start to the clock time that is nearest to the last reading."""
    day = datetime.combine(started.date(), time()) + timedelta(seconds=clock_s)
    days = int(last_s // SECONDS_PER_DAY)
    after = [
        (_aware(day + timedelta(days=more), started, before) - started).total_seconds()
        for more in range(max(days - 1, 0), days + 3)
    ]
    nearest = min((one for one in after if one > 0), key=lambda one: abs(one - last_s))
    return nearest / SECONDS_PER_HOUR


def _aware(there: datetime, started: datetime, before: DischargeDetails | None) -> datetime:
    """A local moment by the clock that the start is read by."""
    here = started.astimezone(UTC).astimezone().utcoffset() == started.utcoffset()
    return there.astimezone() if before is None or here else there.replace(tzinfo=started.tzinfo)
