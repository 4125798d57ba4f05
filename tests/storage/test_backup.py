"""A copy of a data file is made under way and holds the same."""

import contextlib
import sqlite3
import threading
import time
from datetime import UTC, datetime, timedelta

import pytest

from app.storage.backup.backup_files import backups_in
from app.storage.backup.integrity import fingerprint, open_readonly, structural_damage
from app.storage.backup.online_backup import Stopped
from tests.builders import NOW
from tests.concurrency import at_once, process
from tests.storage.copies import copy, names

pytestmark = pytest.mark.data_file
WRITER = """
import sys
from pathlib import Path
from app.services.entities import batteries
from app.services.store import Store
from app.storage.database.engine import make_engine
from tests.builders import battery_details
store = Store(make_engine(Path(sys.argv[1])), Path("unused"))
for number in range(1000):
    batteries.add_battery(store, battery_details(name=f"written {number}", notes="n" * 2000))
    print(number + 1, flush=True)
"""


def test_a_copy_opens_alone_holds_the_same_and_is_named_after_its_moment(database, folder):
    made = copy(database, folder)
    assert names(folder) == ["fadeline-2026-11-25T120000Z.db"]
    assert (made.made_at, made.whole) == (NOW, True)
    with contextlib.closing(open_readonly(made.path)) as one:
        assert one.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        with contextlib.closing(open_readonly(database)) as other:
            assert fingerprint(one) == fingerprint(other)
    assert names(folder) == [made.path.name], "opening it lays nothing beside it"


def test_a_copy_during_a_thousand_writes_loses_none_that_was_acknowledged(database, folder):
    writer = process(WRITER, database)
    acknowledged = [0]

    def listen():
        for line in writer.stdout:
            acknowledged.append(int(line))

    listener = threading.Thread(target=listen)
    listener.start()
    overlapped = 0
    taken = []
    while acknowledged[-1] < 1000 and writer.poll() is None:
        if acknowledged[-1] == 0:
            time.sleep(0.01)
            continue
        before = acknowledged[-1]
        made = copy(database, folder, NOW + timedelta(seconds=len(taken)))
        overlapped += before < acknowledged[-1] < 1000
        taken.append((before, made))
    listener.join()
    writer.stdout.close()
    assert writer.wait(60) == 0
    assert acknowledged[-1] == 1000
    assert overlapped >= 3, "backups were really made while somebody wrote"
    for before, made in taken:
        with contextlib.closing(open_readonly(made.path)) as file:
            assert structural_damage(file) == []
            query = "SELECT name FROM battery WHERE name LIKE 'written %' ORDER BY id"
            stored = [name for (name,) in file.execute(query)]
        assert stored == [f"written {number}" for number in range(len(stored))]
        assert len(stored) >= before


def test_a_writer_goes_on_while_a_copy_is_held_in_the_middle(database, folder):
    """The copy waits at its first step until five writes were acknowledged by the same file."""
    seen = []

    def writes():
        if not seen:
            with contextlib.closing(sqlite3.connect(database, timeout=0.1)) as other:
                for number in range(5):
                    with other:
                        other.execute("INSERT INTO ballast VALUES (?)", (number,))
                    seen.append(number)
        return True

    made = copy(database, folder, going_on=writes)
    assert seen == [0, 1, 2, 3, 4]
    with contextlib.closing(open_readonly(made.path)) as file:
        assert file.execute("SELECT count(*) FROM ballast").fetchone() == (100,)


def test_a_program_told_to_stop_breaks_the_copy_off(database, folder):
    with pytest.raises(Stopped):
        copy(database, folder, going_on=lambda: False)
    assert names(folder) == []


def test_two_in_one_second_both_get_a_name(database, folder):
    assert copy(database, folder).made_at == NOW
    assert copy(database, folder).made_at == NOW + timedelta(seconds=1)
    assert len(backups_in(folder)) == 2


def test_two_at_once_never_write_to_the_same_file(database, folder):
    made = []
    # The real moment: what is half written is told from what was left by the time of its file.
    now = datetime.now(UTC)
    ended = at_once(*[lambda: made.append(copy(database, folder, now))] * 4)
    assert ended == [None] * 4
    assert len({one.path for one in made}) == 4
    assert len(names(folder)) == 4
