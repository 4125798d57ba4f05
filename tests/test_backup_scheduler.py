"""The thread beside the server."""

import threading
import time

import pytest

from app.domain.errors import StorageError
from app.server import backup_scheduler
from app.server.backup_scheduler import BackupTimer
from app.services.backups import backups
from app.services.entities import batteries
from app.storage.backup.backup_files import backups_in
from tests.builders import battery_details

pytestmark = pytest.mark.data_file


@pytest.fixture
def folder(store):
    batteries.add_battery(store, battery_details())
    return backups.show_backups(store.engine).default


def wait_for(look):
    for _ in range(400):
        if look():
            return
        time.sleep(0.01)
    raise AssertionError("it did not happen")


def test_one_is_made_at_the_start_and_no_second_within_the_day(store, folder):
    with BackupTimer(store, every_s=0.01):
        wait_for(lambda: backups_in(folder))
        time.sleep(0.2)
    assert len(backups_in(folder)) == 1


def test_a_look_that_fails_is_said_and_the_next_one_is_taken(store, monkeypatch, caplog):
    looks = []

    def fails(*_):
        looks.append(1)
        raise (StorageError("The disk is gone.") if len(looks) % 2 else RuntimeError("a fault"))

    monkeypatch.setattr(backup_scheduler, "back_up_when_due", fails)
    with BackupTimer(store, every_s=0.01):
        wait_for(lambda: len(looks) > 3)
    assert "no backup was made: The disk is gone." in caplog.text
    assert "unexpected error while backing up" in caplog.text


def test_a_stop_in_the_middle_of_a_copy_leaves_nothing_of_it(store, folder, monkeypatch):
    begun = threading.Event()
    timer = BackupTimer(store)
    goes_on = timer._goes_on

    def waits():
        begun.set()
        timer._stopped.wait(5)
        return goes_on()

    monkeypatch.setattr(timer, "_goes_on", waits)
    with timer:
        assert begun.wait(5)
    assert list(folder.iterdir()) == []
    assert backups.kept_state(store.engine).last is None, "a stop is no trouble to be said"
