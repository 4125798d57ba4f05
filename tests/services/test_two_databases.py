"""Records move between a data file and a PostgreSQL database, and come back the same."""

import os
import subprocess
import sys

import pytest

from app.services.entities import batteries
from app.services.exchange import records_archive
from app.services.store import open_store
from app.settings import MIGRATIONS, ROOT
from tests.archives import exported, fill
from tests.builders import battery_details
from tests.postgres import SERVER, databases

pytestmark = pytest.mark.skipif(not SERVER, reason="FADELINE_TEST_DATABASE_URL names no server")


@pytest.fixture
def place(tmp_path):
    """Opens a new file, or a new database."""
    made = []

    def open_place(name):
        folder = tmp_path / name
        on_server = name.startswith("database")
        address = databases.of(folder) if on_server else folder / "fadeline.db"
        made.append(open_store(folder, address, folder / "staging", MIGRATIONS, 2000))
        assert made[-1].on_server is on_server
        return made[-1]

    yield open_place
    for store in made:
        store.engine.dispose()


@pytest.mark.parametrize(
    "way", [("file", "database", "file 2"), ("database", "file", "database 2")]
)
def test_what_goes_there_and_back_is_the_same_byte_for_byte(place, way, tmp_path):
    stores = [place(name) for name in way]
    fill(stores[0])
    first = exported(stores[0], tmp_path / "0.zip")
    for number, store in enumerate(stores[1:]):
        records_archive.restore_records(store, tmp_path / f"{number}.zip")
        assert exported(store, tmp_path / f"{number + 1}.zip") == first


def test_what_is_added_after_a_move_gets_a_number_of_its_own(place, tmp_path):
    file, database = place("file"), place("database")
    fill(file)
    exported(file, tmp_path / "a.zip")
    records_archive.restore_records(database, tmp_path / "a.zip")
    numbers = [battery.id for battery in batteries.kept_batteries(database)]
    assert batteries.add_battery(database, battery_details()).id == max(numbers) + 1


def test_records_of_a_file_are_added_to_those_of_a_database(place, tmp_path):
    file, database = place("file"), place("database")
    fill(file)
    exported(file, tmp_path / "a.zip")
    batteries.add_battery(database, battery_details(name="ours"))
    report = records_archive.restore_records(database, tmp_path / "a.zip", merge=True)
    assert (report.was_empty, report.conflicts) == (False, ())
    assert records_archive.look_at_archive(database, tmp_path / "a.zip").new == 0


def run(folder, address, *command):
    env = os.environ | {"PYTHONPATH": str(ROOT), "FADELINE_DATABASE_URL": address}
    env["FADELINE_DATA"] = str(folder)
    done = subprocess.run(
        [sys.executable, "-m", "app", *command],
        env=env,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_two_commands_move_records_from_a_file_into_a_database_and_back(place, tmp_path):
    fill(place("file"))
    address = databases.of(tmp_path / "database")
    first, second = str(tmp_path / "1.zip"), str(tmp_path / "2.zip")
    run(tmp_path / "file", "", "export", "--to", first)
    assert "rows added" in run(tmp_path / "server", address, "restore", first)
    run(tmp_path / "server", address, "export", "--to", second)
    assert (tmp_path / "1.zip").read_bytes() == (tmp_path / "2.zip").read_bytes()
    assert not (tmp_path / "server" / "fadeline.db").exists()
    assert "rows added" in run(tmp_path / "again", "", "restore", second)
    assert (tmp_path / "again" / "fadeline.db").exists()
