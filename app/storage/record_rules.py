"""What the columns of the records may hold, beyond their type: as forms and feeds allow it.

Rows from an archive are held against it, so that no page trips over what somebody wrote by hand.
"""

import json
import re
from dataclasses import fields
from enum import StrEnum
from typing import Any

from app.domain import quantity
from app.domain.appliance import Appliance
from app.domain.chemistry import Chemistry
from app.domain.column import ColumnUse, DayOrder, FileLayout
from app.domain.discharge import ChargeCondition, EndReason
from app.domain.event import EventKind
from app.domain.meter import MeterKind
from app.domain.noted import noted
from app.domain.place import HoursAt, Season
from app.domain.quantity import Quantity
from app.domain.record_table import TextRule
from app.domain.run import RunState
from app.domain.share import SharePart
from app.domain.threshold import ThresholdKind
from app.storage.column_rules import share_of
from app.storage.hours_as_text import is_day_of_hours
from app.storage.parts_as_json import are_parts

CHOICES: dict[str, type[StrEnum]] = {
    "battery.chemistry": Chemistry,
    "battery.threshold_kind": ThresholdKind,
    "meter.kind": MeterKind,
    "discharge.charge_condition": ChargeCondition,
    "discharge.end_reason": EndReason,
    "event.kind": EventKind,
    "run.charge_condition": ChargeCondition,
    "run.state": RunState,
}

_WHOLE = Quantity("number", "", 1, 2**63 - 1)
_COUNT = Quantity("count", "", 0, 2**63 - 1)
_OFFSET = Quantity("offset of the clock", "min", -1439, 1439)

RANGES: dict[str, Quantity] = {
    "battery.nominal_v": quantity.NOMINAL_VOLTAGE,
    "battery.rated_ah": quantity.RATED_CAPACITY,
    "battery.rated_hours": quantity.RATED_HOURS,
    "battery.rated_temperature_c": quantity.RATED_TEMPERATURE,
    "battery.cut_off_v": quantity.CUT_OFF_VOLTAGE,
    "battery.empty_under_load_v": quantity.EMPTY_VOLTAGE,
    "battery.reserve_share": Quantity("reserve", "", 0, 0.9),
    "battery.end_of_life_share": quantity.END_OF_LIFE_SHARE,
    "battery.daily_use_ah": quantity.DAILY_USE,
    "battery.nights": quantity.NIGHTS,
    "battery.test_interval_days": quantity.TEST_INTERVAL,
    "battery.price": quantity.PRICE,
    "battery.warranty_years": quantity.WARRANTY_YEARS,
    "battery.warranty_share": share_of(quantity.WARRANTY_SHARE),
    "battery.warranty_cycles": quantity.WARRANTY_CYCLES,
    "battery.drawn_ah_a_week": quantity.DRAWN_A_WEEK,
    "battery.full_discharges_a_year": quantity.FULL_DISCHARGES,
    "battery.waits_at_low_share": share_of(quantity.CHARGE_WAITING),
    "battery.waits_at_high_share": share_of(quantity.CHARGE_WAITING),
    "battery.charge_ah_a_day": quantity.CHARGE_A_DAY,
    "battery.cold_week_c": quantity.COLD_WEEK,
    "meter.gain_limit_percent": quantity.METER_GAIN,
    "meter.offset_limit_a": quantity.METER_OFFSET,
    "meter.resolution_a": quantity.METER_RESOLUTION,
    "discharge.utc_offset_minutes": _OFFSET,
    "discharge.cut_off_v": quantity.CUT_OFF_VOLTAGE,
    "discharge.ambient_c": quantity.AMBIENT_TEMPERATURE,
    "run.utc_offset_minutes": _OFFSET,
    "run.reading_every_min": quantity.READING_EVERY,
    "run.ambient_c": quantity.AMBIENT_TEMPERATURE,
    "run_reading.current_a": quantity.READING_CURRENT,
    "run_reading.voltage_v": quantity.READING_VOLTAGE,
    "run_reading.temperature_c": quantity.READING_TEMPERATURE,
    "run_reading.gauge_percent": quantity.READING_GAUGE,
    "attachment.size": _COUNT,
    "photo.width": _WHOLE,
    "photo.height": _WHOLE,
    "share.views": _COUNT,
}

_HEX_32 = re.compile(r"[0-9a-f]{32}")
_HEX_64 = re.compile(r"[0-9a-f]{64}")
_TOKEN = re.compile(r"[A-Za-z0-9_-]{16,64}")


def range_of(table: str, column: str) -> Quantity | None:
    """The range of a number; rows and versions count from 1."""
    if column in ("id", "version") or column.endswith("_id"):
        return _WHOLE
    return RANGES.get(f"{table}.{column}")


def rule_of(table: str, column: str) -> TextRule | None:
    """What a text must be like, None where any text will do."""
    if column == "uid":
        return TextRule(noted("32 hexadecimal digits"), lambda text: bool(_HEX_32.fullmatch(text)))
    if column == "sha256" or column.endswith("_hash"):
        return TextRule(noted("64 hexadecimal digits"), lambda text: bool(_HEX_64.fullmatch(text)))
    return _RULES.get(f"{table}.{column}")


def _listed(text: str, known: type[StrEnum] | None = None) -> bool:
    items = _json(text)
    if not isinstance(items, list) or not all(isinstance(item, str) for item in items):
        return False
    return known is None or set(items) <= set(known)


def _laid_out(text: str) -> bool:
    if not text:
        return True
    layout = _json(text)
    if not isinstance(layout, dict) or not set(layout) <= {f.name for f in fields(FileLayout)}:
        return False
    order = layout.get("day_order")
    marks = (layout.get("delimiter", ""), layout.get("decimal", ""))
    return all(isinstance(mark, str) for mark in marks) and (
        order in (None, "") or order in set(DayOrder)
    )


def _json(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


_PARTS = ", ".join(SharePart)
_RULES: dict[str, TextRule] = {
    "battery.appliances": TextRule(
        noted("appliances as a JSON array"), lambda text: are_parts(text, Appliance)
    ),
    "place.seasons": TextRule(
        noted("seasons as a JSON array"), lambda text: are_parts(text, Season)
    ),
    "place.hours": TextRule(noted("hours as a JSON array"), lambda text: are_parts(text, HoursAt)),
    "temperature_log.said": TextRule(noted("sentences as a JSON array of texts"), _listed),
    "temperature_day.celsius": TextRule(
        noted("24 numbers or dashes with spaces between them"), is_day_of_hours
    ),
    "discharge.assumptions": TextRule(noted("sentences as a JSON array of texts"), _listed),
    "file_shape.uses": TextRule(
        noted("uses of columns as a JSON array"), lambda text: _listed(text, ColumnUse)
    ),
    "file_shape.layout": TextRule(noted("a layout as a JSON object"), _laid_out),
    "share.token": TextRule(
        noted("a token of 16 to 64 letters, digits, - and _"),
        lambda text: bool(_TOKEN.fullmatch(text)),
    ),
    "share.shows": TextRule(
        f"names with commas between them, of: {_PARTS}",
        lambda text: set(filter(None, text.split(","))) <= set(SharePart),
    ),
}
