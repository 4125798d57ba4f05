"""The form of a battery: values to details and back."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from app.domain import quantity
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.errors import FieldError
from app.domain.i18n.message import say, written_number
from app.domain.threshold import ThresholdKind
from app.domain.units.time_units import EARLIEST_YEAR
from app.web.forms import appliance_rows, battery_use_form
from app.web.forms.battery_voltages import check_voltages
from app.web.forms.described_form import AskedField, asked_fields, read_fields, shown_fields
from app.web.forms.form_reader import SEEN, FormReader
from app.web.forms.typed_dates import typed_month
from app.web.forms.typed_units import POINT_IN_THOUSANDS, in_fahrenheit, is_in_fahrenheit

DEFAULTS = {
    "chemistry": Chemistry.LFP.value,
    "nominal_v": "12.8",
    "rated_temperature_c": "25",
    "reserve_percent": "20",
    "threshold_kind": ThresholdKind.RATED.value,
    "end_of_life_percent": "80",
    "test_interval_days": "91",
    "corrects_temperature": "on",
    "corrects_rate": "on",
    **battery_use_form.DEFAULTS,
}


# What is asked for on a page of the battery that uses it, by the end of the page's address.
PARTS = {
    "road": ("daily_use_ah", "charge_ah_a_day", "cold_week_c", "rows"),
    "warranty": (
        *("warranty_from", "warranty_years", "warranty_cycles", "warranty_percent"),
        *("price", "currency"),
    ),
    "heat": (
        *("drawn_ah_a_week", "full_discharges_a_year"),
        *("waits_at_low_percent", "waits_at_high_percent"),
    ),
}
# 499 €, EUR 499, 499 kr: a sign, or a code of two or three letters, as k is a thousand to some.
_MONEY = r"[^\w\s.,+\-−]|[^\W\d_]{2,3}"
_PRICED = re.compile(
    rf"(?P<before>{_MONEY})?\s*(?P<number>[\d.,]+)\s*(?(before)|(?P<behind>{_MONEY}))"
)
_SINCE = "in_service_since"
# The hidden field that names the page which asked for a part: a mended form goes back there.
THEN = "then"
# Of these, what a new battery's form asks for as well or has a value for from the beginning.
_EARLIER = {"daily_use_ah", *battery_use_form.DEFAULTS}


def _empty_hint() -> str:
    """At which voltage a cell counts as empty; lead-acid has one for all its kinds."""
    lfp, ion, lead = (
        written_number(kind.empty_cell_v, ".2f")
        for kind in (Chemistry.LFP, Chemistry.LITHIUM_ION, Chemistry.FLOODED)
    )
    return say(
        "For the whole battery. If blank: {lfp} V a cell for lithium iron phosphate, {ion} V for "
        "other lithium-ion, {lead} V for lead-acid.",
        lfp=lfp,
        ion=ion,
        lead=lead,
    )


@dataclass(frozen=True)
class BatteryFormPage:
    """What battery_form.html needs. battery_id is None for a new one.

    again says, by field, which earlier battery a value is taken from; whole, that the form also
    has the parts that a new battery's does without (PARTS).
    """

    battery_id: int | None
    whole: bool
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    appliances: tuple[tuple[str, ...], ...]
    again: Mapping[str, str]
    fields: Mapping[str, AskedField] = field(default_factory=lambda: asked_fields(BatteryDetails))
    columns: tuple[str, ...] = appliance_rows.COLUMNS
    threshold_kinds: tuple[ThresholdKind, ...] = tuple(ThresholdKind)
    empty_hint: str = field(default_factory=_empty_hint)


def battery_form_page(
    battery_id: int | None,
    values: Mapping[str, str],
    problems: tuple[FieldError, ...] = (),
    again: Mapping[str, str] = MappingProxyType({}),
) -> BatteryFormPage:
    """The form with what was typed; asked for more rows of appliances it has them."""
    more = appliance_rows.MORE_ROWS if wants_rows(values) else 0
    rows = appliance_rows.appliance_rows(values, more)
    # A part that was sent is shown again, whoever sent it.
    sent = any(
        value and name not in _EARLIER and any(_belongs(name, part) for part in PARTS)
        for name, value in values.items()
    )
    return BatteryFormPage(
        battery_id, battery_id is not None or sent, values, problems, rows, again
    )


def form_of(battery: Battery, problems: tuple[FieldError, ...] = ()) -> BatteryFormPage:
    """The form with what is stored."""
    values = battery_values(battery.details) | {SEEN: str(battery.version)}
    return battery_form_page(battery.id, values, problems)


def with_part(details: BatteryDetails, part: str, values: Mapping[str, str]) -> dict[str, str]:
    """The values of the whole form where those of one part were sent; the others are as stored."""
    stored: Mapping[str, str] = battery_values(details)
    if is_in_fahrenheit(values):
        stored = in_fahrenheit(stored)
    kept = {name: value for name, value in stored.items() if not _belongs(name, part)}
    besides = (SEEN, "action", POINT_IN_THOUSANDS)
    return kept | {
        name: value for name, value in values.items() if _belongs(name, part) or name in besides
    }


def _belongs(name: str, part: str) -> bool:
    """Whether a field, or a cell of the table of appliances, is one of this part."""
    appliance = name.rpartition("_")[0] in appliance_rows.COLUMNS
    return name in PARTS[part] or (part == "road" and appliance)


def wants_rows(values: Mapping[str, str]) -> bool:
    """Whether the form was sent for more rows only, as it is without scripts."""
    return values.get("action") == "more_rows"


def read_battery(values: Mapping[str, str], today: date) -> BatteryDetails:
    """Raises InvalidInput with every problem of the form."""
    # A form sent without the newer fields means what it always meant.
    missing = {"threshold_kind": ThresholdKind.RATED.value, **battery_use_form.DEFAULTS}
    form = FormReader({**missing, **values, **_month_as_day(values, today), **_price(values)})
    given = read_fields(form, BatteryDetails, today)
    form.hint(_SINCE, say(", or a month such as 2022-03"))
    check_voltages(form, given)
    battery_use_form.check_warranty(form, given, today)
    battery_use_form.check_use(form, given)
    details = BatteryDetails(**given, appliances=appliance_rows.read_appliances(form))
    if details.threshold_kind is ThresholdKind.NIGHTS:
        for name, needed in (("daily_use_ah", quantity.DAILY_USE), ("nights", quantity.NIGHTS)):
            if not form.raw(name):
                allowed = say("{range}, for an end of life by nights", range=needed.allowed)
                form.refuse(needed.label, "", allowed, name)
    form.finish()
    return details


def _month_as_day(values: Mapping[str, str], today: date) -> dict[str, str]:
    """The day that a month stands for where somebody knows no more; the form says which."""
    found = typed_month(values.get(_SINCE, ""), today)
    if found is None or found.year < EARLIEST_YEAR or found > today:
        # It is refused as it was typed.
        return {}
    return {_SINCE: found.isoformat()}


def _price(values: Mapping[str, str]) -> dict[str, str]:
    """A price without the sign or code of its money, which goes to the empty field of it."""
    found = _PRICED.fullmatch(values.get("price", "").strip())
    money = found and (found["before"] or found["behind"])
    typed_money = values.get("currency", "").strip()
    if not found or not money or typed_money not in ("", money):
        # It is read, or refused, as it was typed.
        return {}
    return {"price": found["number"], "currency": money}


def battery_values(details: BatteryDetails) -> dict[str, str]:
    """What the form shows of a stored battery."""
    appliances = appliance_rows.appliance_values(details.appliances)
    return {**shown_fields(details), **appliances}
