"""Small batteries and tests to work on. All invented."""

import math
from array import array
from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from app.analysis.battery.battery_report import BatteryReport, battery_report
from app.analysis.evidence.result import analyse_test
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.entities.discharge import ChargeCondition, Discharge, DischargeDetails, EndReason
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails, Season
from app.domain.readings import Readings, column
from app.domain.temperature_log import HourlyTemperatures
from app.services.entities import discharges, places
from app.services.store import Store

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def battery_details(**changes: Any) -> BatteryDetails:
    values: dict[str, Any] = {
        "name": "Bench battery",
        "chemistry": Chemistry.LFP,
        "nominal_v": 12.8,
        "rated_ah": 100.0,
        "reserve_share": 0.2,
        "place": "SECRETPLACE",
        "serial_number": "SECRETSERIAL",
        "price": 987654.0,
        "notes": "SECRETNOTES",
    }
    return BatteryDetails(**(values | changes))


def steady(
    hours: float = 10.0, amps: float = 9.0, last_v: float = 10.0, step_h: float = 1.0
) -> Readings:
    """A steady load read at even steps, its voltage falling off at the end."""
    count = round(hours / step_h) + 1
    volts = [13.2 - 0.6 * i / count for i in range(count)]
    volts[-1] = last_v
    return Readings.of(
        [i * step_h * 3600 for i in range(count)],
        [amps] * count,
        volts,
        [24.0] * count,
        [max(0.0, round(100 - amps * step_h * i)) for i in range(count)],
    )


def at_temperature(readings: Readings, temperature_c: float) -> Readings:
    """The same readings, taken at one temperature."""
    return replace(readings, temperature_c=column([temperature_c] * len(readings)))


def discharge_details(
    readings: Readings | None = None, *, days_ago: float = 10, **changes: Any
) -> DischargeDetails:
    values: dict[str, Any] = {
        "started_at": NOW - timedelta(days=days_ago),
        "utc_offset_minutes": 60,
        "charge_condition": ChargeCondition.FULL_RESTED,
        "end_reason": EndReason.PROTECTION,
        "readings": steady() if readings is None else readings,
        "load": "lamps",
        "notes": "SECRETTESTNOTES",
    }
    return DischargeDetails(**(values | changes))


def add_five_tests(store: Store, battery: Battery) -> None:
    """Five tests in five years, each half an hour shorter than the one before."""
    for years, hours in ((4, 12), (3, 11.5), (2, 11), (1, 10.5), (0, 10)):
        details = discharge_details(steady(hours, step_h=0.1), days_ago=10 + 365 * years)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


def form_rows(rows: Sequence[Sequence[object]]) -> dict[str, str]:
    """Typed readings as the form sends them."""
    names = ("time", "current", "voltage", "temperature", "gauge", "count")
    values = {"rows": str(max(12, len(rows)))}
    for i, row in enumerate(rows):
        for name, cell in zip(names, row, strict=False):
            values[f"{name}_{i}"] = str(cell)
    return values


def reported(
    hours: Sequence[float],
    *,
    number: int = 1,
    every_days: float = 91,
    last_days_ago: float = 10,
    early: Collection[int] = (),
    **changes: Any,
) -> BatteryReport:
    """A battery's report from tests of so many hours each, without a data file.

    The load is 9 A for a battery of 100 Ah; tests in `early` were stopped before it was empty.
    """
    battery = Battery(number, battery_details(**changes), 1)
    amps = 0.09 * battery.details.rated_ah
    tests = []
    for i, lasted in enumerate(hours):
        details = discharge_details(
            steady(lasted, amps, last_v=12.6 if i in early else 10.0, step_h=0.25),
            days_ago=last_days_ago + every_days * (len(hours) - 1 - i),
            end_reason=EndReason.TIME if i in early else EndReason.PROTECTION,
            meter_id=number,
        )
        test = Discharge(100 * number + i, battery.id, details, 1)
        tests.append((test, analyse_test(details, battery.details, None)))
    return battery_report(battery, tests, [], NOW.date())


def fill_place(store: Store, battery_id: int) -> None:
    """A place with a typical year and a log, where a battery has been for a year."""
    details = PlaceDetails("locker", seasons=(Season(11, 3, 8.0, 21.5),))
    place = places.add_place(store, details)
    places.move_battery(store, battery_id, place.id, NOW.date() - timedelta(days=400))
    hours = HourlyTemperatures(
        NOW.date() - timedelta(days=9), array("d", [21.25, math.nan, *[-3.5] * 22] * 3)
    )
    places.add_log(store, place.id, "logger.csv", ("hourly",), hours, NOW, gives_way=False)
