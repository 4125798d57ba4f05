"""Archives to work on: made whole, then spoiled in one way each. All invented."""

import hashlib
import json
import struct
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import BinaryIO, TypeVar

from sqlmodel import Session

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails
from app.domain.units.column import ColumnUse
from app.services.entities import batteries, discharges, events, runs
from app.services.entities.discharges import Original
from app.services.exchange import records_archive
from app.services.store import Store
from app.storage.repositories import shares as share_rows
from app.storage.schema.tables import SettingRow
from tests.builders import NOW, battery_details, discharge_details, fill_place, steady
from tests.pictures import photo_row
from tests.postgres import opened

Entries = dict[str, bytes]
Target = TypeVar("Target", Path, BytesIO)
LOG = b"time_s,A\r\n0,9\r\n36000,9\r\n"


def empty_store(folder: Path) -> Store:
    """A store of its own."""
    return opened(folder)


def fill(store: Store) -> None:
    """Something in every table."""
    battery = batteries.add_battery(store, battery_details(notes='=1+1, "quoted"\r\nNULL'))
    other = batteries.add_battery(store, battery_details(name="Örtliche Batterie ☀", notes=""))
    original = Original("log.csv", LOG, ("time_s", "A"), (ColumnUse.ELAPSED_S, ColumnUse.CURRENT_A))
    test = discharges.add_discharge(
        store, battery.id, discharge_details(), MeterKind.SHUNT, NOW, original
    )
    again = discharge_details(steady(hours=9.5, step_h=0.5), notes="NULL")
    discharges.change_discharge(store, test.id, again, test.details.meter_id or 0, NOW)
    batteries.change_battery(store, battery.id, battery_details(rated_ah=101.0), NOW)
    events.add_event(store, battery.id, NOW.date(), EventKind.MOVED, "-2 °C")
    events.bin_event(
        store, events.add_event(store, other.id, NOW.date(), EventKind.OTHER, "").id, NOW
    )
    fill_place(store, battery.id)
    details = RunDetails(NOW, 60, ChargeCondition.FULL, 0, "lamps")
    run = runs.start_run(store, other.id, details, MeterKind.CLAMP, NOW)
    runs.note_reading(store, run.id, ReadingGiven(NOW, 0.1 + 0.2, 13.0), NOW)
    runs.strike_reading(store, run.id, 1, "a slip", NOW)
    runs.open_feed(store, run.id)
    with Session(store.engine) as session, session.begin():
        share_rows.add(
            session, battery.id, "t" * 32, "Ro", NOW, None, discharge_id=test.id, beside=[other.id]
        )
        session.add(photo_row(test.id, "the meter"))
        session.add(SettingRow(name="greeting", value=""))


def exported(store: Store, path: Path) -> bytes:
    """The bytes of an export."""
    records_archive.export_records(store, path, replace=True)
    return path.read_bytes()


def entries_of(archive: Path | BinaryIO) -> Entries:
    with zipfile.ZipFile(archive) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def spoiled(archive: Path, target: Path, spoil: Callable[[Entries], None]) -> Path:
    """The archive with something changed and every hash made right again."""
    entries = entries_of(archive)
    spoil(entries)
    relist(entries)
    return packed(entries, target)


def relist(entries: Entries) -> None:
    """Let the descriptor list what is there, as somebody with patience would."""
    package = json.loads(entries["datapackage.json"])
    there = {}
    for resource in package["resources"]:
        there[resource["path"]] = resource
    for path in set(entries) - set(there) - {"datapackage.json"}:
        there[path] = {"name": "x", "path": path}
    package["resources"] = [
        resource
        | {
            "bytes": len(entries[path]),
            "hash": "sha256:" + hashlib.sha256(entries[path]).hexdigest(),
        }
        for path, resource in there.items()
        if path in entries
    ]
    entries["datapackage.json"] = json.dumps(package).encode()


def packed(entries: Entries, target: Target) -> Target:
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as opened:
        for name, data in entries.items():
            opened.writestr(name, data)
    return target


def many_entries(target: Path, count: int) -> Path:
    """A ZIP with so many empty entries, written by hand because a library takes its time."""
    local, central = bytearray(), bytearray()
    for number in range(count):
        name = f"{number:06d}".encode()
        head = struct.pack("<5H3L2H", 20, 0, 0, 0, 33, 0, 0, 0, len(name), 0)
        central += struct.pack("<4s1H", b"PK\x01\x02", 20) + head
        central += struct.pack("<3H2L", 0, 0, 0, 0, len(local)) + name
        local += b"PK\x03\x04" + head + name
    shown = min(count, 0xFFFF)
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, shown, shown, len(central), len(local), 0)
    target.write_bytes(bytes(local + central) + end)
    return target
