"""An invented scenario: three batteries of a touring truck called Marmot. Nothing of it is real.

The galley bank has faded since it moved from the cabin to a locker above the exhaust, and its
warranty ends soon. The trailer box in the shade is fine; of one of its tests only the result was
noted. The tests of the lamp battery were all stopped early, so that only a bound is known.
"""

import itertools
import math
import random
import statistics
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta

from app.domain.appliance import Appliance
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, DischargeDetails, EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.place import PlaceDetails, Season
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.units.time_units import DAYS_PER_YEAR, SECONDS_PER_HOUR
from app.services.entities import batteries, discharges, events, places
from app.services.store import Store

# Voltage of one cell under a light load against the share of charge left, drawn by hand after the
# usual shapes of such curves (common practice); used for the demo only.
_CURVES = {
    Chemistry.LFP: (
        (0.0, 2.50),
        (0.02, 2.85),
        (0.05, 3.02),
        (0.10, 3.13),
        (0.20, 3.20),
        (0.40, 3.26),
        (0.70, 3.30),
        (0.95, 3.33),
        (1.0, 3.38),
    ),
    Chemistry.AGM: ((0.0, 1.75), (0.2, 1.93), (0.5, 2.02), (0.8, 2.08), (1.0, 2.13)),
}

_HAPPENED = (
    (730, EventKind.LONG_TRIP, "seven weeks of gravel roads"),
    (700, EventKind.MOVED, "to the rear locker"),
    (655, EventKind.REPAIR, "a new main fuse"),
)
_PLACES = (
    PlaceDetails(
        "Marmot rear locker",
        "above the exhaust",
        (
            Season(11, 2, 24.0, 38.0),
            Season(3, 5, 28.0, 43.0),
            Season(6, 8, 34.0, 50.0),
            Season(9, 10, 29.0, 44.0),
        ),
    ),
    PlaceDetails(
        "Marmot trailer drawbar",
        "in the shade",
        (Season(11, 3, 4.0, 13.0), Season(4, 6, 12.0, 23.0), Season(7, 10, 15.0, 27.0)),
    ),
    PlaceDetails(
        "Marmot cabin bench",
        "under the seat, heated in winter",
        (Season(11, 3, 16.0, 23.0), Season(4, 6, 17.0, 29.0), Season(7, 10, 20.0, 34.0)),
    ),
)
_GALLEY_AT = ((4.76, "Marmot cabin bench"), (700 / DAYS_PER_YEAR, "Marmot rear locker"))
_TRAILER_AT = ((2.24, "Marmot trailer drawbar"),)


@dataclass(frozen=True)
class Course:
    """How one battery is tested over the years. fade gives the true share after so many years.

    Tests are numbered from 0. From logged_from on an adjustable load draws a steady current and a
    logger notes it.
    """

    details: BatteryDetails
    first_ah: float
    fade: tuple[float, float]
    tests: int
    load_ohm: float
    load: str
    warm_c: float
    stopped_early: tuple[int, ...]
    # Where it lived, and from how many years ago on.
    places: tuple[tuple[float, str], ...] = ()
    logged_from: int | None = None
    only_result: tuple[int, ...] = ()


def fill_with_demo(store: Store, today: date | None = None) -> None:
    """Fill an empty store. The tests end a few weeks before today."""
    today = today or datetime.now(UTC).date()
    chance = random.Random(20)  # noqa: S311
    at = {one.name: places.add_place(store, one).id for one in _PLACES}
    for course in _courses(today):
        battery = batteries.add_battery(store, course.details)
        since = course.details.in_service_since or today
        for number in range(course.tests):
            day = today - timedelta(days=24 + 91 * (course.tests - 1 - number))
            years = (day - since).days / DAYS_PER_YEAR
            share = 1 - course.fade[0] * years ** course.fade[1]
            capacity = course.first_ah * share * chance.gauss(1.0, 0.006)
            test = _test(course, day, capacity, number, chance)
            now = datetime.combine(today, time(12), UTC) + timedelta(days=1)
            discharges.add_discharge(store, battery.id, test, MeterKind.SHUNT, now)
        for years_ago, place in course.places:
            from_date = today - timedelta(days=round(DAYS_PER_YEAR * years_ago))
            places.move_battery(store, battery.id, at[place], from_date)
        if course.tests > 10:
            for days_ago, kind, note in _HAPPENED:
                day = today - timedelta(days=days_ago)
                events.add_event(store, battery.id, day, kind, note)


def _courses(today: date) -> tuple[Course, ...]:
    galley = BatteryDetails(
        name="Marmot galley bank",
        chemistry=Chemistry.LFP,
        nominal_v=12.8,
        rated_ah=230.0,
        rated_hours=5.0,
        in_service_since=today - timedelta(days=1740),
        reserve_share=0.15,
        place="rear locker above the exhaust",
        serial_number="INVENTED-0417",
        notes="Invented for the demo.",
        nights=3,
        price=1480.0,
        currency="EUR",
        warranty_years=5,
        warranty_share=0.8,
        warranty_cycles=2500,
        drawn_ah_a_week=260.0,
        charge_ah_a_day=25.0,
        cold_week_c=3.0,
        appliances=(
            Appliance("cool box", 9.0, current_a=3.2),
            Appliance("reading lamps", 3.5, power_w=14.0),
            Appliance("water pump", 0.3, power_w=60.0),
            Appliance("laptop on the inverter", 2.0, power_w=75.0),
        ),
    )
    trailer = BatteryDetails(
        name="Marmot trailer box",
        chemistry=Chemistry.LFP,
        nominal_v=25.6,
        rated_ah=96.0,
        in_service_since=today - timedelta(days=820),
        reserve_share=0.2,
        place="drawbar box, in the shade",
        daily_use_ah=24.0,
        price=920.0,
        currency="EUR",
        warranty_years=8,
        warranty_share=0.7,
        full_discharges_a_year=60.0,
        waits_at_low_share=0.8,
        cold_week_c=-4.0,
    )
    lamps = BatteryDetails(
        name="Marmot lamp battery",
        chemistry=Chemistry.AGM,
        nominal_v=12.0,
        rated_ah=74.0,
        rated_hours=20.0,
        in_service_since=today - timedelta(days=400),
        reserve_share=0.5,
    )
    heater = "two 12 V heating mats"
    return (
        Course(galley, 233.0, (0.026, 1.25), 18, 0.74, heater, 38.0, (6,), _GALLEY_AT, 10),
        Course(
            trailer,
            97.0,
            (0.004, 1.0),
            8,
            2.6,
            "24 V immersion coil in a bucket",
            21.0,
            (),
            _TRAILER_AT,
            only_result=(4,),
        ),
        Course(lamps, 73.0, (0.02, 1.0), 3, 3.3, "cabin lamps", 18.0, (0, 1, 2)),
    )


def _test(
    course: Course, day: date, capacity_ah: float, number: int, chance: random.Random
) -> DischargeDetails:
    early = number in course.stopped_early
    logged = course.logged_from is not None and number >= course.logged_from
    readings, end_h = _readings(course, capacity_ah, 0.24 if early else 0.0, chance, logged)
    start = datetime.combine(day, time(6, 30), UTC)
    made = DischargeDetails(
        started_at=start,
        utc_offset_minutes=0,
        charge_condition=ChargeCondition.FULL_RESTED,
        end_reason=EndReason.GAUGE_RESERVE if early else EndReason.PROTECTION,
        readings=readings,
        # Not before the last reading, which would lie behind the end then.
        ended_after_h=math.ceil(1000 * end_h) / 1000,
        ambient_c=round(course.warm_c - 9 + chance.uniform(-4, 4)),
        load="adjustable load, logged" if logged else course.load,
        source=say("invented"),
    )
    return _noted(made, capacity_ah) if number in course.only_result else made


def _noted(test: DischargeDetails, capacity_ah: float) -> DischargeDetails:
    """The same test as a notebook has it: its result, and how it was done."""
    read = test.readings
    return replace(
        test,
        readings=Readings.of([], []),
        counted_ah=round(capacity_ah, 1),
        mean_current_a=round(statistics.fmean(read.current_a), 1),
        ambient_c=round(statistics.fmean(read.temperature_c)),
        last_voltage_v=read.voltage_v[-1],
    )


def _readings(
    course: Course, capacity_ah: float, stop_at: float, chance: random.Random, logged: bool
) -> tuple[Readings, float]:
    """Hourly hand readings of a load, or four an hour of a logger, and one at the end."""
    about = course.details
    cells = about.chemistry.cells_in_series(about.nominal_v)
    warm = course.warm_c + chance.uniform(-3, 3)
    steady_a = round(about.nominal_v / course.load_ohm, 1)
    step_h, an_hour, used, hours = 1 / 60, 4 if logged else 1, 0.0, 0.0
    rows: list[tuple[float, ...]] = []
    while True:
        left = 1 - used / capacity_ah
        volts = cells * _cell_v(about.chemistry, max(left, 0.0))
        amps = steady_a if logged else volts / course.load_ohm
        gauge = max(0.0, 100 - 100 * used / about.rated_ah)
        ended = left <= max(stop_at, 1e-9)
        if ended or abs(an_hour * hours - round(an_hour * hours)) < an_hour * step_h / 2:
            temperature = warm + 4 * math.sin(hours / 5)
            rows.append((hours * SECONDS_PER_HOUR, amps, volts, temperature, gauge))
        if ended:
            break
        used += amps * step_h
        hours += step_h
    return (
        Readings.of(
            [round(row[0]) for row in rows],
            [round(row[1], 1) for row in rows],
            [round(row[2], 2) for row in rows],
            [round(row[3]) for row in rows],
            # A logger does not know the gauge; somebody reads it now and then.
            [
                None if i % an_hour and i < len(rows) - 1 else round(row[4])
                for i, row in enumerate(rows)
            ],
        ),
        rows[-1][0] / SECONDS_PER_HOUR,
    )


def _cell_v(chemistry: Chemistry, left: float) -> float:
    points = _CURVES[chemistry]
    for (low, v_low), (high, v_high) in itertools.pairwise(points):
        if left <= high:
            return v_low + (v_high - v_low) * (left - low) / (high - low)
    return points[-1][1]
