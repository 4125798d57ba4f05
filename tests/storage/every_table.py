"""A data file with something in every table, made through the program, to plant damage in."""

import contextlib
import sqlite3
from dataclasses import replace
from datetime import timedelta

from app.domain.entities.discharge import EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails
from app.services.access import shares
from app.services.entities import batteries, discharges, events, photos, runs
from app.services.entities.discharges import Original
from app.services.exchange import upload_staging
from app.services.store import open_store
from app.settings import MIGRATIONS
from app.storage.database.engine import write_transaction
from app.storage.repositories import settings
from app.storage.schema.tables import ShareBesideRow
from tests.builders import NOW, battery_details, discharge_details, fill_place, steady
from tests.pictures import PHOTO

LOG = b"time_h,current_a,voltage_v\n" + b"".join(b"%d,9,13.1\n" % h for h in range(11))


def fill(folder):
    """Make the file; returns its path, with nothing left in a log beside it."""
    database = folder / "fadeline.db"
    store = open_store(folder, database, folder / "staging", MIGRATIONS, 5000)
    grow(store)
    store.engine.dispose()
    with contextlib.closing(sqlite3.connect(database)) as file:
        file.execute("PRAGMA journal_mode=DELETE")
    return database


def grow(store):
    """Something in every table of an empty store."""
    battery = batteries.add_battery(store, battery_details(price=12.5))
    other = batteries.add_battery(store, battery_details(name="Other", cut_off_v=11.2))
    batteries.change_battery(store, battery.id, battery_details(name="Renamed"), NOW)
    staged = upload_staging.stage(store, LOG)
    original = Original("log.csv", LOG, staged.header, staged.uses)
    test = discharges.add_discharge(
        store, battery.id, discharge_details(), MeterKind.SHUNT, NOW, original
    )
    second = discharge_details(steady(hours=8, step_h=0.01), days_ago=30, cut_off_v=11.0)
    second = discharges.add_discharge(store, battery.id, second, MeterKind.CLAMP, NOW)
    discharges.leave_out(store, second.id, "the load was switched off", NOW)
    discharges.bin_discharge(store, second.id, NOW)
    events.add_event(store, battery.id, NOW.date(), EventKind.MOVED, "to the other locker")
    shares.share_battery(store, battery.id, "a friend", NOW + timedelta(days=30), NOW)
    photos.add_photos(store, test.id, [("meter.jpg", PHOTO)], "the meter", NOW)
    _run(store, other.id)
    fill_place(store, battery.id)
    with write_transaction(store.engine) as session:
        session.add(ShareBesideRow(share_id=1, battery_id=other.id))
        settings.put(session, "backup_folder", "/media/stick")
        # All that is set today belongs to a machine; an export takes what does not along, too.
        settings.put(session, "of_the_records", "goes along")


def _run(store, battery_id):
    details = RunDetails(
        started_at=NOW - timedelta(hours=5),
        utc_offset_minutes=60,
        charge_condition=discharge_details().charge_condition,
        meter_id=0,
    )
    run = runs.start_run(store, battery_id, details, MeterKind.SHUNT, NOW)
    for hours in range(4):
        given = ReadingGiven(NOW - timedelta(hours=5 - hours), 9.0, 13.0, None, 80.0)
        runs.note_reading(store, run.id, given, NOW)
    runs.strike_reading(store, run.id, 2, "misread", NOW)
    runs.correct_reading(store, run.id, 3, replace(given, at=NOW - timedelta(hours=3.2)), NOW)
    runs.end_run(store, run.id, EndReason.TIME, None)
    again = runs.start_run(store, battery_id, details, MeterKind.SHUNT, NOW)
    runs.open_feed(store, again.id)
