"""Backups in a folder: their names, what is swept and what is thinned."""

import os
from datetime import timedelta

import pytest

from app.domain.records.backup import BackupReason, backup_name, read_backup_name
from app.storage.backup.backup_files import backups_in, sweep, thin
from tests.builders import NOW
from tests.storage.copies import copy, names

pytestmark = pytest.mark.data_file


def test_half_copies_of_a_killed_program_are_swept_and_young_ones_are_not(folder):
    old, young = (folder / f"{backup_name(NOW, reason)}.part" for reason in list(BackupReason)[:2])
    for part in (old, young, folder / "diary.part"):
        part.write_bytes(b"half")
        os.utime(part, (NOW.timestamp() - 60,) * 2)
    os.utime(old, (NOW.timestamp() - 7200,) * 2)
    os.utime(folder / "diary.part", (0, 0))
    sweep(folder, NOW)
    assert names(folder) == sorted([young.name, "diary.part"])


def test_thinning_touches_nothing_but_its_own_and_each_kind_by_itself(database, folder):
    whole = copy(database, folder, NOW).path.read_bytes()
    for days in range(1, 30):
        for reason in (BackupReason.ROUTINE, BackupReason.BEFORE_UPDATE):
            (folder / backup_name(NOW - timedelta(days=days), reason)).write_bytes(whole)
    others = ("holiday.jpg", "fadeline-copy.db", "fadeline-2020-01-01T000000Z.db.bak")
    for name in others:
        (folder / name).write_text("mine")
    cut = folder / backup_name(NOW - timedelta(hours=30), BackupReason.ROUTINE)
    cut.write_bytes(whole[:5000])
    removed = thin(folder, NOW)
    assert removed
    assert {*others, cut.name} <= set(names(folder))
    assert [b.whole for b in backups_in(folder) if b.path == cut] == [False]
    updates = [b for b in backups_in(folder) if b.reason is BackupReason.BEFORE_UPDATE]
    assert updates[0].made_at == NOW - timedelta(days=1), "the last before an update stays"
    assert 10 <= len(updates) <= 13


def test_names_sort_by_their_moment_and_read_back():
    for reason in BackupReason:
        assert read_backup_name(backup_name(NOW, reason)) == (NOW, reason)
    earlier = backup_name(NOW - timedelta(seconds=1), BackupReason.BEFORE_RESTORE)
    assert earlier < backup_name(NOW, BackupReason.ROUTINE)
    for other in (
        "fadeline.db",
        "fadeline-2026-13-01T000000Z.db",
        "x" + earlier,
        earlier + ".part",
    ):
        assert read_backup_name(other) is None
