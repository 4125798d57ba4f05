"""What each column of the tables may hold, for the check of a data file.

A rule takes a value and returns what was expected instead; nothing where the value is fine. Empty
columns are SQLite's own business. Numbers have the ranges that forms and files are held to; where
the program computed a value, any number will do.
"""

import json
import math
import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from app.domain import quantity as q
from app.domain.appliance import Appliance
from app.domain.chemistry import Chemistry
from app.domain.column import ColumnUse
from app.domain.discharge import ChargeCondition, EndReason
from app.domain.event import EventKind
from app.domain.meter import MeterKind
from app.domain.place import HoursAt, Season
from app.domain.quantity import Quantity
from app.domain.run import RunState
from app.domain.share import SharePart
from app.domain.threshold import ThresholdKind
from app.storage.hours_as_text import is_day_of_hours
from app.storage.parts_as_json import are_parts

Rule = Callable[[Any], str]


def number(allowed: Quantity) -> Rule:
    return lambda value: "" if _is_number(value) and allowed.holds(value) else allowed.allowed


def finite(value: object) -> str:
    return "" if _is_number(value) else "a number"


def whole(low: int = 0, high: int = 2**63 - 1) -> Rule:
    expected = f"a whole number from {low}" + ("" if high == 2**63 - 1 else f" to {high}")
    return lambda v: "" if type(v) is int and low <= v <= high else expected


def text(value: object) -> str:
    if not isinstance(value, str):
        return "text"
    # What is no UTF-8 comes as lone surrogates.
    return "readable text" if any("\ud800" <= c <= "\udfff" for c in value) else ""


def shaped(pattern: str, expected: str) -> Rule:
    shape = re.compile(pattern, re.ASCII)
    return lambda v: "" if isinstance(v, str) and shape.fullmatch(v) else expected


def one_of(kind: type[StrEnum], separator: str = "") -> Rule:
    """A member of an enumeration, or several with a separator between them."""
    known = [one.value for one in kind]
    expected = ("some of: " if separator else "one of: ") + ", ".join(known)

    def rule(value: object) -> str:
        if not isinstance(value, str):
            return expected
        parts = [p for p in value.split(separator) if p] if separator else [value]
        return "" if set(parts) <= set(known) else expected

    return rule


def moment(value: object) -> str:
    return "" if _parsed(datetime.fromisoformat, value) is not None else "a date with a time"


def day(value: object) -> str:
    return "" if _parsed(date.fromisoformat, value) is not None else "a date"


def flag(value: object) -> str:
    return "" if value in (0, 1) else "yes or no (1 or 0)"


def blob(value: object) -> str:
    return "" if isinstance(value, bytes) else "bytes"


def texts_as_json(value: object) -> str:
    given = _parsed(json.loads, value)
    fine = isinstance(given, list) and all(isinstance(one, str) for one in given)
    return "" if fine else "a list of texts as JSON"


def uses_as_json(value: object) -> str:
    given = _parsed(json.loads, value)
    known = tuple(use.value for use in ColumnUse)
    fine = isinstance(given, list) and all(one in known for one in given)
    return "" if fine else "a list of known uses of columns as JSON"


def layout_as_json(value: object) -> str:
    given = {} if value == "" else _parsed(json.loads, value)
    fine = isinstance(given, dict) and given.keys() <= {"delimiter", "decimal", "day_order"}
    return "" if fine else "the layout of a file as JSON"


def parts_as_json(kind: type[Any]) -> Rule:
    return lambda value: "" if are_parts(value, kind) else f"{kind.__name__} parts as JSON"


def day_of_hours(value: object) -> str:
    return "" if is_day_of_hours(value) else "24 numbers or dashes with spaces between them"


def share_of(percent: Quantity) -> Quantity:
    """The range of a share whose percentage has a range."""
    return Quantity(percent.label, "", percent.low / 100, percent.high / 100)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and math.isfinite(value)


def _parsed(parse: Callable[[str], Any], value: object) -> Any:
    """The value read as such; None where it cannot be."""
    try:
        return parse(value) if isinstance(value, str) else None
    except ValueError:
        return None


UID = shaped("[0-9a-f]{32}", "a name of 32 hexadecimal digits")
HASH = shaped("[0-9a-f]{64}", "a hash of 64 hexadecimal digits")
# Offsets of clocks reach to 14 hours; what the clock of a machine may be set to, to a day.
OFFSET = whole(-1440, 1440)
INTERVAL = whole(int(q.TEST_INTERVAL.low), int(q.TEST_INTERVAL.high))
ID = whole(1)
# The columns that mean the same wherever they stand.
COMMON: Mapping[str, Rule] = {"id": ID, "uid": UID, "version": whole(1), "deleted_at": moment}

RULES: Mapping[str, Mapping[str, Rule]] = {
    "battery": {
        "name": text,
        "chemistry": one_of(Chemistry),
        "nominal_v": number(q.NOMINAL_VOLTAGE),
        "rated_ah": number(q.RATED_CAPACITY),
        "rated_hours": number(q.RATED_HOURS),
        "rated_temperature_c": number(q.RATED_TEMPERATURE),
        "in_service_since": day,
        "cut_off_v": number(q.CUT_OFF_VOLTAGE),
        "empty_under_load_v": number(q.EMPTY_VOLTAGE),
        "corrects_temperature": flag,
        "corrects_rate": flag,
        "reserve_share": number(share_of(q.RESERVE)),
        "threshold_kind": one_of(ThresholdKind),
        "end_of_life_share": number(q.END_OF_LIFE_SHARE),
        "daily_use_ah": number(q.DAILY_USE),
        "nights": number(q.NIGHTS),
        "test_interval_days": INTERVAL,
        "place": text,
        "serial_number": text,
        "price": number(q.PRICE),
        "notes": text,
        "currency": text,
        "warranty_from": day,
        "warranty_years": number(q.WARRANTY_YEARS),
        "warranty_share": number(share_of(q.WARRANTY_SHARE)),
        "warranty_cycles": number(q.WARRANTY_CYCLES),
        "drawn_ah_a_week": number(q.DRAWN_A_WEEK),
        "full_discharges_a_year": number(q.FULL_DISCHARGES),
        "waits_at_low_share": number(share_of(q.CHARGE_WAITING)),
        "waits_at_high_share": number(share_of(q.CHARGE_WAITING)),
        "charge_ah_a_day": number(q.CHARGE_A_DAY),
        "cold_week_c": number(q.COLD_WEEK),
        "appliances": parts_as_json(Appliance),
    },
    "meter": {
        "name": text,
        "kind": one_of(MeterKind),
        "gain_limit_percent": number(q.METER_GAIN),
        "offset_limit_a": number(q.METER_OFFSET),
        "resolution_a": number(q.METER_RESOLUTION),
    },
    "discharge": {
        "battery_id": ID,
        "meter_id": ID,
        "started_at": moment,
        "utc_offset_minutes": OFFSET,
        "charge_condition": one_of(ChargeCondition),
        "end_reason": one_of(EndReason),
        "ended_after_h": finite,
        "cut_off_v": number(q.CUT_OFF_VOLTAGE),
        "ambient_c": number(q.AMBIENT_TEMPERATURE),
        "load": text,
        "notes": text,
        "source": text,
        "assumptions": texts_as_json,
        "left_out_reason": text,
        "readings": blob,
    },
    "event": {"battery_id": ID, "on_date": day, "kind": one_of(EventKind), "note": text},
    "share": {
        "battery_id": ID,
        "token": text,
        "token_hash": HASH,
        "label": text,
        "discharge_id": ID,
        "shows": one_of(SharePart, ","),
        "views": whole(),
        "viewed_at": moment,
        "created_at": moment,
        "expires_at": moment,
        "revoked_at": moment,
    },
    "share_beside": {"share_id": ID, "battery_id": ID},
    "run": {
        "battery_id": ID,
        "meter_id": ID,
        "discharge_id": ID,
        "started_at": moment,
        "utc_offset_minutes": OFFSET,
        "charge_condition": one_of(ChargeCondition),
        "load": text,
        "reading_every_min": number(q.READING_EVERY),
        "ambient_c": number(q.AMBIENT_TEMPERATURE),
        "notes": text,
        "state": one_of(RunState),
        "feed_hash": HASH,
    },
    "run_reading": {
        "run_id": ID,
        "at": moment,
        "current_a": number(q.READING_CURRENT),
        "voltage_v": number(q.READING_VOLTAGE),
        "temperature_c": number(q.READING_TEMPERATURE),
        "gauge_percent": number(q.READING_GAUGE),
        "source": text,
        "struck_reason": text,
    },
    "attachment": {
        "discharge_id": ID,
        "name": text,
        "sha256": HASH,
        "size": whole(),
        "packed": blob,
    },
    "photo": {
        "discharge_id": ID,
        "caption": text,
        "added_at": moment,
        "width": whole(1),
        "height": whole(1),
        "sha256": HASH,
        "jpeg": blob,
    },
    "place": {
        "name": text,
        "note": text,
        "seasons": parts_as_json(Season),
        "hours": parts_as_json(HoursAt),
    },
    "stay": {"battery_id": ID, "place_id": ID, "from_date": day},
    "temperature_log": {
        "place_id": ID,
        "source": text,
        "said": texts_as_json,
        "gives_way": flag,
        "added_at": moment,
    },
    "temperature_day": {"log_id": ID, "on_date": day, "celsius": day_of_hours},
    "file_shape": {"headings_hash": HASH, "uses": uses_as_json, "layout": layout_as_json},
    "setting": {"name": text, "value": text},
    "revision": {
        "thing": shaped("[a-z_]+", "the name of a table"),
        "thing_id": ID,
        "replaced_at": moment,
        "before": blob,
    },
}
