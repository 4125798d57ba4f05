"""What must not contradict itself in the parts of a battery's form about its warranty and use."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from app.domain import quantity
from app.domain.i18n.message import say
from app.web.forms.form_reader import FormReader

# A form sent without these fields means what a battery means that nobody asked about them.
DEFAULTS = {"waits_at_low_percent": "50", "waits_at_high_percent": "100"}


def check_warranty(form: FormReader, given: Mapping[str, Any], today: date) -> None:
    """Years need a day from which they count."""
    years, since = given["warranty_years"], given["in_service_since"]
    if years is not None and given["warranty_from"] is None and since is None:
        allowed = say(
            "a date up to today ({today}) for the {years:g} years of the warranty, here "
            "or as the day it went into service",
            today=today,
            years=years,
        )
        if not form.raw("warranty_from"):
            form.refuse(say("first day of the warranty"), "", allowed, "warranty_from")


def check_use(form: FormReader, given: Mapping[str, Any]) -> None:
    """What contradicts itself is refused naming both."""
    if form.raw("drawn_ah_a_week") and form.raw("full_discharges_a_year"):
        both = say(
            "{ah_a_week} Ah a week and {discharges} full discharges a year",
            ah_a_week=form.raw("drawn_ah_a_week"),
            discharges=form.raw("full_discharges_a_year"),
        )
        allowed = say(
            "one of the two, {one} or {other}",
            one=quantity.DRAWN_A_WEEK.label,
            other=quantity.FULL_DISCHARGES.label,
        )
        form.refuse(say("use over the year"), both, allowed, "drawn_ah_a_week")
    low, high = (100 * given[f"waits_at_{end}_share"] for end in ("low", "high"))
    if form.fine and low > high:
        allowed = say("from 0 to {high:g} %, the highest state of charge it waits at", high=high)
        form.refuse(
            say("lowest state of charge it waits at"), f"{low:g}", allowed, "waits_at_low_percent"
        )
