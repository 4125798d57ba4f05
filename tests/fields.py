"""Things with something in every described field that is not its default. All invented."""

from dataclasses import MISSING, replace
from datetime import date
from enum import StrEnum
from typing import Any

from app.domain.appliance import Appliance
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.fields.described_field import DescribedField, described_fields
from app.domain.readings import Readings
from tests.builders import battery_details, discharge_details

# What cannot be made up from the type.
_OWN: dict[str, Any] = {
    "appliances": (Appliance("Lamp", 2.0, 3.0),),
    "assumptions": ("The first line holds headings.",),
    "cut_off_v": 11.5,
    "ended_after_h": 10.5,
}
_SAME = ("started_at",)


def filled_battery() -> BatteryDetails:
    return replace(battery_details(), **_others(BatteryDetails))


def filled_discharge() -> DischargeDetails:
    """Without readings: beside them no result can be noted."""
    return replace(discharge_details(Readings.of([], [])), **_others(DischargeDetails))


def _others(thing: type[Any]) -> dict[str, Any]:
    fields = described_fields(thing).values()
    return {f.name: _other(f) for f in fields if f.name not in _SAME}


def _other(field: DescribedField) -> Any:
    """A value that is neither the default nor in doubt."""
    if field.name in _OWN:
        return _OWN[field.name]
    quantity = field.told.quantity
    if quantity is not None:
        value = quantity.low + 5 / 8 * (quantity.high - quantity.low)
        return round(value) if field.kind is int else value / 100 if field.is_share else value
    if field.kind is bool:
        return not field.default
    if field.kind is date:
        return date(2020, 2, 29)
    if field.kind is str:
        return "Other"
    assert issubclass(field.kind, StrEnum), f"say in {__name__} what {field.name} is filled with"
    default = None if field.default is MISSING else field.default
    return next(one for one in reversed(field.kind) if one is not default)
