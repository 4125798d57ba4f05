"""The check of a data file finds what is planted in it, and nothing in a sound one."""

import contextlib
import json
import shutil
import sqlite3
import zlib
from hashlib import sha256
from pathlib import Path

import pytest

from app.domain.readings import Readings
from app.services.backups.data_check import check_file
from app.services.example.demo import fill_with_demo
from app.services.store import open_store
from app.settings import MIGRATIONS
from app.storage.backup.column_rules import RULES
from app.storage.database.migrations import Standing
from app.storage.schema.packing import pack_readings
from app.storage.schema.tables import metadata
from tests.old_files import RELEASED, unpacked
from tests.pictures import PHOTO

pytestmark = pytest.mark.data_file


@pytest.fixture
def database(planted_file, tmp_path):
    return Path(shutil.copy(planted_file, tmp_path / "fadeline.db"))


def check(path):
    return check_file(path, MIGRATIONS)


def sentences(path):
    return [damage.sentence for damage in check(path).damages]


def test_every_column_of_the_tables_has_a_rule():
    named = {name: set(rules) for name, rules in RULES.items()}
    there = {
        name: {column.name for column in table.columns} for name, table in metadata.tables.items()
    }
    assert named == there


def test_a_sound_file_with_something_in_every_table_has_no_damage(database):
    checked = check(database)
    assert checked.damages == ()
    assert checked.standing is Standing.CURRENT
    assert set(checked.rows) == set(RULES)
    assert all(checked.rows.values()), "no table of it is empty"


def test_the_demo_has_no_damage(tmp_path):
    store = open_store(tmp_path, tmp_path / "f.db", tmp_path / "staging", MIGRATIONS, 200)
    fill_with_demo(store)
    assert check(tmp_path / "f.db").damages == (), "while it is open"
    store.engine.dispose()


@pytest.mark.parametrize("old", sorted(RELEASED.glob("*.db.gz")), ids=lambda path: path.name)
def test_a_file_of_every_released_schema_is_looked_through_too(old, tmp_path):
    database = tmp_path / "f.db"
    unpacked(old.name, database)
    checked = check(database)
    newest = max(path.name[:4] for path in (MIGRATIONS / "versions").glob("[0-9]*.py"))
    standing = Standing.CURRENT if old.name[:4] == newest else Standing.OLDER
    assert (checked.standing, checked.damages) == (standing, ())
    # One test of each file lies in the bin, and its figures are not told.
    told = json.loads(old.with_name(old.name.replace(".db.gz", ".json")).read_text())
    assert checked.rows["discharge"] == len(told) + 1
    with contextlib.closing(sqlite3.connect(database)) as file, file:
        file.execute("UPDATE discharge SET readings = x'00' WHERE id = 4")
    assert sentences(database) == ["capacity test 4: its readings cannot be unpacked."]


backwards = pack_readings(Readings.of([0.0, 9.0, 5.0], [9.0, 9.0, 9.0]))
nothing_read = pack_readings(Readings.of([0.0, 9.0], [9.0, float("nan")]))
too_hot = pack_readings(Readings.of([0.0, 9.0], [9.0, 9.0], temperature_c=[20.0, 4000.0]))
no_picture = (b"<html>", sha256(b"<html>").hexdigest())
cut = (PHOTO[:-40], sha256(PHOTO[:-40]).hexdigest())
stranger = zlib.compress(json.dumps({"id": 77}).encode())

PLANTED = [
    # What stands for a whole row: bytes and their hashes.
    ("UPDATE discharge SET readings = substr(readings, 1, 40)", "readings cannot be unpacked"),
    ("UPDATE discharge SET readings = 'text'", "readings is “text”, not bytes"),
    (("UPDATE discharge SET readings = ?", backwards), "times that run backwards"),
    (("UPDATE discharge SET readings = ?", nothing_read), "a current that is no number"),
    (("UPDATE discharge SET readings = ?", too_hot), "4000 as temperature, not a number from"),
    ("UPDATE attachment SET packed = x'789c00'", "“log.csv” cannot be unpacked"),
    (("UPDATE attachment SET packed = ?", zlib.compress(b"forged")), "its hash differs"),
    ("UPDATE attachment SET size = 5", "size is given as 5, it holds"),
    ("UPDATE photo SET jpeg = CAST(jpeg || x'00' AS BLOB)", "photo 1: it is not what was stored"),
    (("UPDATE photo SET jpeg = ?, sha256 = ?", *no_picture), "photo 1: it is no JPEG picture"),
    (("UPDATE photo SET jpeg = ?, sha256 = ?", *cut), "photo 1: it is no JPEG picture"),
    ("UPDATE photo SET width = 81", "size is given as 81 × 40, the picture has 80 × 40"),
    ("UPDATE revision SET before = x'00'", "replaced row 1: it cannot be unpacked"),
    (("UPDATE revision SET before = ?", stranger), "it is not the battery 1 it should be"),
    # Values that nothing in the program can read.
    ("UPDATE battery SET chemistry = 'lemon'", "chemistry is “lemon”, not one of: lfp"),
    ("UPDATE battery SET threshold_kind = ''", "threshold kind is “”, not one of"),
    ("UPDATE meter SET kind = 'nose'", "kind is “nose”, not one of: shunt"),
    ("UPDATE discharge SET end_reason = 'x'", "capacity test 1: end reason is “x”"),
    ("UPDATE discharge SET charge_condition = 'x'", "charge condition is “x”"),
    ("UPDATE event SET kind = 'party'", "event 1: kind is “party”"),
    ("UPDATE run SET state = 'asleep'", "running test 1: state is “asleep”"),
    ("UPDATE share SET shows = 'fade,serial'", "shows is “fade,serial”, not some of: fade"),
    ("UPDATE discharge SET started_at = 'soon'", "started at is “soon”, not a date with a time"),
    ("UPDATE event SET on_date = '2026-02-31'", "on date is “2026-02-31”, not a date"),
    ("UPDATE discharge SET assumptions = '{'", "not a list of texts as JSON"),
    ('UPDATE discharge SET assumptions = \'[{"text": "a"}]\'', "not a list of texts as JSON"),
    ("UPDATE file_shape SET uses = '[\"smell\"]'", "remembered columns 1: uses is"),
    ("UPDATE file_shape SET layout = '[1]'", "not the layout of a file as JSON"),
    ("UPDATE battery SET name = CAST(x'ff41' AS TEXT)", "not readable text"),
    # Numbers out of their range.
    ("UPDATE battery SET nominal_v = -3", "nominal v is “-3.0”, not a number from 1 to 1000 V"),
    ("UPDATE battery SET rated_ah = 'many'", "rated ah is “many”, not a number"),
    ("UPDATE battery SET reserve_share = 1.5", "reserve share is “1.5”"),
    ("UPDATE meter SET gain_limit_percent = 9e99", "gain limit percent"),
    ("UPDATE run_reading SET current_a = 9e999", "reading of a running test 1: current a is “inf”"),
    ("UPDATE discharge SET utc_offset_minutes = 90000", "utc offset minutes is “90000”"),
    # No clock is a whole day ahead or behind: such an offset could not even be shown.
    ("UPDATE discharge SET utc_offset_minutes = -1440", "not a whole number from -1439 to 1439"),
    ("UPDATE battery SET corrects_rate = 7", "corrects rate is “7”, not yes or no"),
    ("UPDATE battery SET version = 0", "version is “0”, not a whole number from 1"),
    ("UPDATE battery SET uid = 'me' WHERE id = 1", "uid is “me”, not a name of 32"),
    # What does not fit together.
    ("UPDATE share SET token = 'guess'", "does not fit its hash"),
    ("UPDATE run SET discharge_id = NULL", "finished and became no capacity test"),
    ("UPDATE discharge SET battery_id = 99", "discharge 1: points to a battery that is not there"),
    ("DELETE FROM meter WHERE id = 1", "points to a meter that is not there"),
    # The schema.
    ("DROP TABLE photo", "photo: the table is missing"),
    ("ALTER TABLE share DROP COLUMN views", "link: the column views is missing"),
    ("DROP INDEX ix_photo_deleted_at; DROP TABLE setting", "setting: the table is missing"),
    ("DELETE FROM alembic_version", "does not identify itself as a Fadeline data file"),
    ("UPDATE alembic_version SET version_num = '9999'", "was written by a newer Fadeline"),
]


@pytest.mark.parametrize(("planted", "found"), PLANTED, ids=lambda value: str(value)[:60])
def test_planted_damage_is_found_named_and_has_a_way_out(database, planted, found):
    with contextlib.closing(sqlite3.connect(database)) as file, file:
        if isinstance(planted, str):
            file.executescript(planted)
        else:
            file.execute(planted[0], planted[1:])
    checked = check(database)
    assert any(found in damage.sentence for damage in checked.damages), sentences(database)
    assert all(damage.todo for damage in checked.damages)


def test_an_empty_value_where_there_must_be_one_is_found(database):
    """As a table without its rule would take it: the rule is written into the schema afterwards."""
    with contextlib.closing(sqlite3.connect(database)) as file, file:
        file.execute("PRAGMA writable_schema=ON")
        table = "UPDATE sqlite_master SET sql = replace(sql, ?, ?) WHERE name = 'meter'"
        file.execute(table, ("name VARCHAR(80) NOT NULL", "name VARCHAR(80)         "))
    with contextlib.closing(sqlite3.connect(database)) as file, file:
        file.execute("UPDATE meter SET name = NULL WHERE id = 1")
        file.execute("PRAGMA writable_schema=ON")
        file.execute(table, ("name VARCHAR(80)         ", "name VARCHAR(80) NOT NULL"))
    assert "the file: NULL value in meter.name." in sentences(database)


def flip(path, at, length=1):
    data = bytearray(path.read_bytes())
    data[at : at + length] = bytes(byte ^ 0xFF for byte in data[at : at + length])
    path.write_bytes(data)


def test_one_flipped_byte_inside_kept_bytes_is_found(database):
    """SQLite itself keeps no checksum of them."""
    for table, column, row in (("attachment", "packed", 1), ("discharge", "readings", 2)):
        with contextlib.closing(sqlite3.connect(database)) as file:
            query = f"SELECT {column} FROM {table} WHERE id = {row}"
            (data,) = file.execute(query).fetchone()
        flip(database, database.read_bytes().find(data[20:60]) + 10)
    found = sentences(database)
    assert check(database).structure == ()
    assert any("capacity test 2" in sentence for sentence in found)
    assert any("kept file 1" in sentence for sentence in found)


def test_a_spoilt_page_is_found(database):
    with contextlib.closing(sqlite3.connect(database)) as file:
        query = "SELECT rootpage FROM sqlite_master WHERE name = 'battery'"
        (root,) = file.execute(query).fetchone()
    flip(database, (root - 1) * 4096, 200)
    assert check(database).structure
    assert check(database).damages[0].todo


def test_an_index_that_does_not_fit_its_table_is_found(database):
    with contextlib.closing(sqlite3.connect(database)) as file, file:
        file.execute("PRAGMA writable_schema=ON")
        index = "UPDATE sqlite_master SET sql = replace(sql, ?, ?) WHERE name = ?"
        file.execute(index, ("(state)", "(notes)", "ix_run_state"))
    assert any("ix_run_state" in sentence for sentence in sentences(database))


@pytest.mark.parametrize("share", [0.02, 0.5, 0.9])
def test_a_truncated_file_is_found(database, share):
    data = database.read_bytes()
    database.write_bytes(data[: int(len(data) * share)])
    assert check(database).structure


def test_what_is_no_database_is_said(tmp_path):
    (tmp_path / "notes.txt").write_text("these are my notes\n" * 50)
    (sentence,) = sentences(tmp_path / "notes.txt")
    assert "cannot be read as a database" in sentence
