"""The part of a test's form for a test of which only the result was noted."""

from collections.abc import Mapping
from datetime import date, datetime, time

from app.domain.entities.discharge import NOTED_FIELDS, DischargeDetails
from app.domain.i18n.message import say
from app.web.forms.form_reader import FormReader


def is_noted(values: Mapping[str, str]) -> bool:
    """Whether something of a result without readings was typed."""
    return any(values.get(name, "").strip() for name in NOTED_FIELDS)


def day_noted(form: FormReader, before: DischargeDetails | None, today: date) -> datetime:
    """The day of a test of which no more is known, as its first moment."""
    day = form.day("day", say("day of the test"), today)
    if before is not None and before.is_only_result and before.started_local.date() == day:
        return before.started_local
    return datetime.combine(day, time()).astimezone()
