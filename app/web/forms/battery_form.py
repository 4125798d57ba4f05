"""The form of a battery: values to details and back."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from app.domain import quantity
from app.domain.battery import BatteryDetails
from app.domain.chemistry import Chemistry
from app.domain.errors import FieldError
from app.domain.i18n.message import say
from app.domain.limits import MAX_LINE_LENGTH, MAX_NAME_LENGTH, MAX_NOTES_LENGTH
from app.domain.threshold import ThresholdKind
from app.web.forms import appliance_rows, battery_use_form
from app.web.forms.form_reader import FormReader, typed

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


@dataclass(frozen=True)
class BatteryFormPage:
    """What battery_form.html needs. battery_id is None for a new one.

    again says, by field, which earlier battery a value is taken from.
    """

    battery_id: int | None
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    appliances: tuple[tuple[str, ...], ...]
    again: Mapping[str, str]
    columns: tuple[str, ...] = appliance_rows.COLUMNS
    chemistries: tuple[Chemistry, ...] = tuple(Chemistry)
    threshold_kinds: tuple[ThresholdKind, ...] = tuple(ThresholdKind)


def battery_form_page(
    battery_id: int | None,
    values: Mapping[str, str],
    problems: tuple[FieldError, ...] = (),
    again: Mapping[str, str] = MappingProxyType({}),
) -> BatteryFormPage:
    """The form with what was typed; asked for more rows of appliances it has them."""
    more = appliance_rows.MORE_ROWS if wants_rows(values) else 0
    rows = appliance_rows.appliance_rows(values, more)
    return BatteryFormPage(battery_id, values, problems, rows, again)


def wants_rows(values: Mapping[str, str]) -> bool:
    """Whether the form was sent for more rows only, as it is without scripts."""
    return values.get("action") == "more_rows"


def read_battery(values: Mapping[str, str], today: date) -> BatteryDetails:
    """Raises InvalidInput with every problem of the form."""
    # A form sent without the newer fields means what it always meant.
    missing = {"threshold_kind": ThresholdKind.RATED.value, **battery_use_form.DEFAULTS}
    form = FormReader({**missing, **values})
    since = form.optional_day("in_service_since", say("in service since"), today)
    details = BatteryDetails(
        name=form.text("name", say("name"), MAX_NAME_LENGTH, required=True),
        chemistry=form.choice("chemistry", say("chemistry"), Chemistry),
        nominal_v=form.number("nominal_v", quantity.NOMINAL_VOLTAGE),
        rated_ah=form.number("rated_ah", quantity.RATED_CAPACITY),
        rated_hours=form.optional_number("rated_hours", quantity.RATED_HOURS),
        rated_temperature_c=form.number("rated_temperature_c", quantity.RATED_TEMPERATURE),
        in_service_since=since,
        cut_off_v=form.optional_number("cut_off_v", quantity.CUT_OFF_VOLTAGE),
        empty_under_load_v=form.optional_number("empty_under_load_v", quantity.EMPTY_VOLTAGE),
        corrects_temperature=bool(form.raw("corrects_temperature")),
        corrects_rate=bool(form.raw("corrects_rate")),
        reserve_share=form.number("reserve_percent", quantity.RESERVE) / 100,
        threshold_kind=form.choice("threshold_kind", say("end of life"), ThresholdKind),
        daily_use_ah=form.optional_number("daily_use_ah", quantity.DAILY_USE),
        nights=form.optional_number("nights", quantity.NIGHTS),
        end_of_life_share=form.number("end_of_life_percent", quantity.END_OF_LIFE) / 100,
        test_interval_days=round(form.number("test_interval_days", quantity.TEST_INTERVAL)),
        place=form.text("place", say("where it is fitted"), MAX_LINE_LENGTH),
        serial_number=form.text("serial_number", say("serial number"), MAX_NAME_LENGTH),
        notes=form.text("notes", say("notes"), MAX_NOTES_LENGTH),
        **battery_use_form.read_warranty(form, since, today),
        **battery_use_form.read_use(form),
    )
    if details.threshold_kind is ThresholdKind.NIGHTS:
        for name, needed in (("daily_use_ah", quantity.DAILY_USE), ("nights", quantity.NIGHTS)):
            if not form.raw(name):
                allowed = say("{range}, for a threshold by nights", range=needed.allowed)
                form.refuse(needed.label, "", allowed, name)
    form.finish()
    return details


def battery_values(details: BatteryDetails) -> dict[str, str]:
    """What the form shows of a stored battery."""
    return {
        "name": details.name,
        "chemistry": details.chemistry.value,
        "nominal_v": typed(details.nominal_v),
        "rated_ah": typed(details.rated_ah),
        "rated_hours": typed(details.rated_hours),
        "rated_temperature_c": typed(details.rated_temperature_c),
        "in_service_since": str(details.in_service_since or ""),
        "cut_off_v": typed(details.cut_off_v),
        "empty_under_load_v": typed(details.empty_under_load_v),
        "corrects_temperature": "on" if details.corrects_temperature else "",
        "corrects_rate": "on" if details.corrects_rate else "",
        "reserve_percent": f"{details.reserve_share * 100:.10g}",
        "threshold_kind": details.threshold_kind.value,
        "daily_use_ah": typed(details.daily_use_ah),
        "nights": typed(details.nights),
        "end_of_life_percent": f"{details.end_of_life_share * 100:.10g}",
        "test_interval_days": str(details.test_interval_days),
        "place": details.place,
        "serial_number": details.serial_number,
        "notes": details.notes,
        **battery_use_form.private_values(details),
    }
