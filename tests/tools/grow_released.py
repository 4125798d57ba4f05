"""Make a real data file of the present schema, with the figures that its program shows of it.

python -m tests.tools.grow_released tests/storage/released/0004

writes 0004.db.gz and 0004.json: capacity, expanded uncertainty and kind of every test that is not
in the bin, by the number of the test. All invented. Run it once, with the program of that schema,
before the next migration; a file that was released never changes.

python -m tests.tools.grow_released figures

writes what the present method shows of every released file beside it, 0001.method-3.json for method
3. Run it once where METHOD_VERSION was raised, after the files came up with all their figures under
the method before: what changes then is the method, and not what was stored.
"""

import gzip
import json
import sys
import tempfile
from array import array
from dataclasses import replace
from datetime import timedelta
from math import nan, sin
from pathlib import Path

from sqlmodel import Session

from app.analysis.evidence.result import METHOD_VERSION
from app.domain.appliance import Appliance
from app.domain.entities.discharge import ChargeCondition, EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails
from app.domain.share import SharePart
from app.domain.temperature_log import HourlyTemperatures
from app.domain.units.column import ColumnUse
from app.services.access import shares
from app.services.access.shares import ShareWish
from app.services.backups import backups
from app.services.entities import batteries, discharges, events, meters, places, runs
from app.services.entities.discharges import Original
from app.services.example.demo import fill_with_demo
from app.services.store import Store, open_store
from app.settings import MIGRATIONS
from tests.builders import NOW, discharge_details, steady
from tests.old_files import RELEASED, unpacked
from tests.pictures import photo_row

LOG = b"time_s,current_a,voltage_v\r\n" + b"".join(
    b"%d,9,%.2f\r\n" % (i * 1800, 13.2 - 0.03 * i) for i in range(20)
)


def grow(store: Store) -> None:
    """Use the program for a while: nothing of it stays as it was first entered."""
    fill_with_demo(store, NOW.date())
    first, trailer, lamps = (battery.id for battery in batteries.kept_batteries(store))
    about = batteries.get_battery(store, first).details
    changed = replace(about, daily_use_ah=41.5, nights=3.0, notes="Wärme ☀, „hinten“\r\n2 lines")
    batteries.change_battery(store, first, changed, NOW)
    _test_from_a_file(store, trailer)
    tests = discharges_of(store, first)
    discharges.bin_discharge(store, tests[2], NOW)
    discharges.leave_out(store, tests[4], "the fridge ran too", NOW)
    meter = meters.list_meters(store)[0]
    meters.change_meter(store, meter.id, replace(meter.details, gain_limit_percent=0.8), NOW)
    event = events.add_event(store, trailer, NOW.date(), EventKind.REPAIR, "new lug")
    events.bin_event(store, event.id, NOW)
    events.add_event(store, lamps, NOW.date(), EventKind.OTHER, "")
    _runs(store, trailer, lamps)
    _warmth_and_terms(store, lamps)
    part = frozenset([SharePart.FADE, SharePart.TESTS])
    wish = ShareWish(part, beside=(trailer, lamps))
    share = shares.share_battery(store, first, "club", None, NOW, wish)
    shares.count_view(store, share.token, NOW)
    one = ShareWish(discharge_id=tests[0])
    shares.revoke_share(store, shares.share_battery(store, first, "", None, NOW, one).id, NOW)
    backups.back_up(store.engine, NOW)


def figures(store: Store) -> dict[str, list[object]]:
    """Capacity in Ah, expanded uncertainty in Ah and kind of every test, by its number."""
    return {
        str(test.id): [test.capacity_ah, test.expanded_ah, str(test.kind)]
        for report in batteries.list_batteries(store, NOW.date()).shown
        for test in report.tests
    }


def discharges_of(store: Store, battery_id: int) -> list[int]:
    report = batteries.show_battery(store, battery_id, NOW.date()).report
    return [test.id for test in report.tests]


def _test_from_a_file(store: Store, battery_id: int) -> None:
    uses = (ColumnUse.ELAPSED_S, ColumnUse.CURRENT_A, ColumnUse.VOLTAGE_V)
    header = ("time_s", "current_a", "voltage_v")
    original = Original("box log.csv", LOG, header, uses)
    details = discharge_details(steady(hours=9.5, step_h=0.5), days_ago=3, source="box log.csv")
    test = discharges.add_discharge(store, battery_id, details, MeterKind.CLAMP, NOW, original)
    again = replace(details, ambient_c=14.5, notes="the cover was off")
    discharges.change_discharge(store, test.id, again, test.details.meter_id or 0, NOW)
    with Session(store.engine) as session, session.begin():
        session.add(photo_row(test.id, "the clamp at the lug"))


def _runs(store: Store, ended: int, going: int) -> None:
    """One that became a test, one that was given up, one that is running and fed."""
    for battery_id, hours in ((ended, 4), (going, 2), (going, 3)):
        start = NOW - timedelta(hours=30 - hours)
        details = RunDetails(start, 60, ChargeCondition.FULL_RESTED, 0, "lamps", 60.0, 17.0)
        run = runs.start_run(store, battery_id, details, MeterKind.SHUNT, NOW)
        for hour in range(hours):
            at = start + timedelta(hours=hour)
            given = ReadingGiven(at, 4.1 - 0.1 * hour, 12.7 - 0.1 * hour, 18.0, 90.0 - 5 * hour)
            runs.note_reading(store, run.id, given, NOW)
        noted = runs.show_run(store, run.id, NOW).readings
        runs.strike_reading(store, run.id, noted[-1].id, "misread", NOW)
        moved = replace(noted[0].given, at=noted[0].given.at + timedelta(minutes=1))
        runs.correct_reading(store, run.id, noted[0].id, moved, NOW)
        if battery_id == ended:
            runs.end_run(store, run.id, EndReason.TIME, None)
        elif hours == 2:
            runs.abandon_run(store, run.id)
        else:
            runs.open_feed(store, run.id)


def _warmth_and_terms(store: Store, battery_id: int) -> None:
    """Loggers' hours, one of them in the bin, a stay in the bin, appliances and a warranty."""
    place = places.list_places(store)[0].place
    hours = array("f", [20.0 + 10.0 * sin(hour / 4) for hour in range(72)])
    hours[30] = nan
    for days_ago in (60, 58, 40):
        logged = HourlyTemperatures(NOW.date() - timedelta(days=days_ago), hours)
        log = places.add_log(
            store, place.id, "shed.csv", ("°C",), logged, NOW, gives_way=days_ago == 58
        )
    places.bin_log(store, log, NOW)
    stay = places.move_battery(store, battery_id, place.id, NOW.date() - timedelta(days=70))
    places.take_stay_back(store, stay.id, NOW)
    places.change_place(store, place.id, replace(place.details, note="north wall"), NOW)
    about = batteries.get_battery(store, battery_id).details
    appliances = (Appliance("lamp, 3 of them", 4.5, power_w=12.0), Appliance("radio", 24.0, 0.08))
    terms = {"warranty_years": 5.0, "warranty_share": 0.7, "warranty_cycles": 3000.0}
    changed = replace(about, appliances=appliances, price=410.0, **terms)
    batteries.change_battery(store, battery_id, changed, NOW)


def shown_of(released: Path) -> dict[str, list[object]]:
    """The figures of a released file, as the present program shows them."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        unpacked(released.name, folder / "fadeline.db")
        store = open_store(folder, folder / "fadeline.db", folder / "staging", MIGRATIONS, 5000)
        shown = figures(store)
        store.engine.dispose()
    return shown


def of_method(released: Path, version: int) -> Path:
    """Where the figures of a released file under a later method stand."""
    return released.with_name(f"{released.name.removesuffix('.db.gz')}.method-{version}.json")


def main(stem: str) -> None:
    """Write the file and its figures, or the figures of the files that there are."""
    if stem == "figures":
        for released in sorted(RELEASED.glob("*.db.gz")):
            text = json.dumps(shown_of(released), indent=1) + "\n"
            of_method(released, METHOD_VERSION).write_text(text)
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        database = folder / "fadeline.db"
        store = open_store(folder, database, folder / "staging", MIGRATIONS, 5000)
        grow(store)
        # How the last backup went names a folder of this machine.
        shown = figures(store)
        with store.engine.begin() as connection:
            connection.exec_driver_sql(
                "UPDATE setting SET value = replace(value, ?, ?)", (name, "")
            )
        store.engine.dispose()
        Path(f"{stem}.db.gz").write_bytes(gzip.compress(database.read_bytes(), 9, mtime=0))
        Path(f"{stem}.json").write_text(json.dumps(shown, indent=1) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
