"""The parts of the form of a battery that no shared page shows: its warranty and its use."""

from datetime import date
from typing import Any

from app.domain import quantity
from app.domain.battery import BatteryDetails
from app.domain.i18n.message import say
from app.web.forms.appliance_rows import appliance_values, read_appliances
from app.web.forms.form_reader import FormReader, typed

# A form sent without these fields means what a battery means that nobody asked about them.
DEFAULTS = {"waits_at_low_percent": "50", "waits_at_high_percent": "100"}


def read_warranty(form: FormReader, in_service_since: date | None, today: date) -> dict[str, Any]:
    """The fields of the warranty and the price, by their names."""
    start = form.optional_day("warranty_from", say("first day of the warranty"), today)
    years = form.optional_number("warranty_years", quantity.WARRANTY_YEARS)
    share = form.optional_number("warranty_percent", quantity.WARRANTY_SHARE)
    if years is not None and start is None and in_service_since is None:
        allowed = say(
            "a date up to today ({today:%Y-%m-%d}) for the {years:g} years of the warranty, here "
            "or as the day it went into service",
            today=today,
            years=years,
        )
        if not form.raw("warranty_from"):
            form.refuse(say("first day of the warranty"), "", allowed, "warranty_from")
    return {
        "warranty_from": start,
        "warranty_years": years,
        "warranty_share": None if share is None else share / 100,
        "warranty_cycles": form.optional_number("warranty_cycles", quantity.WARRANTY_CYCLES),
        "price": form.optional_number("price", quantity.PRICE),
        "currency": form.text("currency", say("currency"), 8),
    }


def read_use(form: FormReader) -> dict[str, Any]:
    """The fields of the use, by their names; what contradicts itself is refused naming both."""
    a_week = form.optional_number("drawn_ah_a_week", quantity.DRAWN_A_WEEK)
    a_year = form.optional_number("full_discharges_a_year", quantity.FULL_DISCHARGES)
    if form.raw("drawn_ah_a_week") and form.raw("full_discharges_a_year"):
        given = say(
            "{ah_a_week} Ah a week and {discharges} full discharges a year",
            ah_a_week=form.raw("drawn_ah_a_week"),
            discharges=form.raw("full_discharges_a_year"),
        )
        allowed = say(
            "one of the two, {one} or {other}",
            one=quantity.DRAWN_A_WEEK.label,
            other=quantity.FULL_DISCHARGES.label,
        )
        form.refuse(say("use over the year"), given, allowed, "drawn_ah_a_week")
    low = form.number(
        "waits_at_low_percent", quantity.CHARGE_WAITING, say("lowest state of charge it waits at")
    )
    high = form.number(
        "waits_at_high_percent", quantity.CHARGE_WAITING, say("highest state of charge it waits at")
    )
    if form.fine and low > high:
        allowed = say("from 0 to {high:g} %, the highest state of charge it waits at", high=high)
        form.refuse(
            say("lowest state of charge it waits at"), f"{low:g}", allowed, "waits_at_low_percent"
        )
    return {
        "drawn_ah_a_week": a_week,
        "full_discharges_a_year": a_year,
        "waits_at_low_share": low / 100,
        "waits_at_high_share": high / 100,
        "charge_ah_a_day": form.optional_number("charge_ah_a_day", quantity.CHARGE_A_DAY),
        "cold_week_c": form.optional_number("cold_week_c", quantity.COLD_WEEK),
        "appliances": read_appliances(form),
    }


def private_values(details: BatteryDetails) -> dict[str, str]:
    """What the form shows of them."""

    share = details.warranty_share
    return {
        "warranty_from": str(details.warranty_from or ""),
        "warranty_years": typed(details.warranty_years),
        "warranty_percent": "" if share is None else f"{share * 100:.10g}",
        "warranty_cycles": typed(details.warranty_cycles),
        "price": typed(details.price),
        "currency": details.currency,
        "drawn_ah_a_week": typed(details.drawn_ah_a_week),
        "full_discharges_a_year": typed(details.full_discharges_a_year),
        "waits_at_low_percent": f"{details.waits_at_low_share * 100:.10g}",
        "waits_at_high_percent": f"{details.waits_at_high_share * 100:.10g}",
        "charge_ah_a_day": typed(details.charge_ah_a_day),
        "cold_week_c": typed(details.cold_week_c),
        **appliance_values(details.appliances),
    }
