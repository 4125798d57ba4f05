"""When a backup is made, what is kept, and what is said of it."""

import contextlib
import sqlite3
from datetime import timedelta

import pytest

from app.services.backups import backups
from app.services.backups.backup_places import NOTE_NAME
from app.storage.backup.backup_files import backups_in
from app.storage.database.engine import write_transaction
from app.storage.repositories import settings
from tests.builders import NOW
from tests.services.backing_up import DAY, HOUR, note

pytestmark = pytest.mark.data_file


def test_a_backup_a_day_is_due_and_no_more(engine):
    assert backups.back_up_when_due(engine, NOW) is not None
    for later in (timedelta(0), HOUR, DAY - HOUR):
        assert backups.back_up_when_due(engine, NOW + later) is None
    assert backups.back_up_when_due(engine, NOW + DAY) is not None


def test_a_clock_that_was_set_back_does_not_stop_the_backups(engine):
    backups.back_up(engine, NOW + 3000 * DAY)
    assert backups.back_up_when_due(engine, NOW) is not None
    assert note(engine) == ""


def test_a_backup_that_was_cut_short_does_not_count(engine):
    made = backups.back_up(engine, NOW).path
    made.write_bytes(made.read_bytes()[:1000])
    assert backups.back_up_when_due(engine, NOW + HOUR) is not None
    assert [backup.whole for backup in backups.show_backups(engine).backups] == [True, False]


@pytest.mark.parametrize("days", [8, 30])
def test_an_old_backup_is_said(engine, days):
    backups.back_up(engine, NOW)
    assert note(engine, NOW + 7 * DAY) == ""
    assert note(engine, NOW + days * DAY) == f"The last good backup is {days} days old."


def test_a_good_backup_that_was_removed_by_hand_is_no_longer_shown(engine):
    first = backups.back_up(engine, NOW - DAY).path
    second = backups.back_up(engine, NOW).path
    second.unlink()
    state = backups.show_backups(engine).state
    assert (state.good_at, state.good_path) == (NOW - DAY, first)


@pytest.mark.parametrize("text", ["{", "[]", '{"at": "soon"}', '{"good_at": "2026-01-01"}', "7"])
def test_an_unreadable_state_is_none(engine, text):
    with write_transaction(engine) as session:
        settings.put(session, backups.STATE_SETTING, text)
    assert note(engine) == "There is no backup yet."
    assert backups.back_up(engine, NOW).path is not None
    assert note(engine) == ""


def test_a_state_that_cannot_be_written_down_costs_no_backup(engine, monkeypatch, caplog):
    held = sqlite3.connect(engine.url.database, isolation_level=None)
    held.execute("BEGIN IMMEDIATE")
    with contextlib.closing(held):
        assert backups.back_up(engine, NOW).path.is_file()
    assert "could not be written down" in caplog.text


def test_a_folder_of_this_once_is_not_thinned(engine, stick):
    for days in range(3):
        for hours in range(3):
            moment = NOW - 30 * DAY - days * DAY - hours * HOUR
            assert backups.back_up_to(engine, str(stick), moment).path.parent == stick
    backups.back_up_to(engine, str(stick), NOW)
    assert len(backups_in(stick)) == 10
    assert not (stick / NOTE_NAME).exists()


def test_the_daily_one_thins_its_folder(engine):
    for hours in range(30):
        backups.back_up(engine, NOW + hours * HOUR)
    backups.back_up(engine, NOW + 10 * DAY)
    left = [backup.made_at for backup in backups.show_backups(engine).backups]
    assert len(left) == 2
    assert left[0] == NOW + 10 * DAY
