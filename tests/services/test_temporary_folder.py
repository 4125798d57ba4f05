import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from app.services.backups.temporary_folder import (
    DEMO,
    EXAMPLE,
    MARK,
    TemporaryFolder,
    remove_left_behind,
)

# What is left of a process that ended without a chance to tidy up.
KILLED = """
import os
from app.services.backups.temporary_folder import EXAMPLE, TemporaryFolder
made = TemporaryFolder(EXAMPLE)
(made.path / "fadeline.db").write_bytes(b"something")
os._exit(9)
"""


@pytest.fixture(autouse=True)
def place(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    return tmp_path


def killed(place: Path) -> Path:
    before = set(place.iterdir())
    assert subprocess.run([sys.executable, "-c", KILLED], check=False).returncode == 9
    (made,) = set(place.iterdir()) - before
    return made


def test_what_a_killed_process_left_is_removed(place):
    left = killed(place)
    assert (left / "fadeline.db").is_file()
    assert remove_left_behind() == [left]
    assert list(place.iterdir()) == []


def test_the_folder_of_one_that_lives_stays(place):
    killed(place)
    with TemporaryFolder(DEMO) as folder:
        (folder / "fadeline.db").write_bytes(b"something")
        remove_left_behind()
        assert list(place.iterdir()) == [folder]
        assert (folder / "fadeline.db").is_file()
    assert list(place.iterdir()) == []


def test_a_folder_that_is_just_being_made_stays(place):
    (place / f"{DEMO}new").mkdir()
    (place / f"{EXAMPLE}new").mkdir()
    (place / f"{EXAMPLE}new" / MARK).touch()
    assert remove_left_behind() == []


def test_what_has_another_name_stays(place):
    left = killed(place)
    left.rename(place / "somebody-s-folder")
    assert remove_left_behind() == []


@pytest.mark.skipif(os.name != "posix", reason="links need rights elsewhere")
def test_a_link_with_our_name_leads_nowhere(place):
    target = killed(place).rename(place / "elsewhere")
    (place / f"{DEMO}link").symlink_to(target)
    assert remove_left_behind() == []
    assert (target / "fadeline.db").is_file()


@pytest.mark.skipif(os.name != "posix", reason="files have no owner by number elsewhere")
def test_what_belongs_to_somebody_else_stays(place, monkeypatch):
    left = killed(place)
    monkeypatch.setattr(os, "getuid", lambda: left.stat().st_uid + 1)
    assert remove_left_behind() == []
    assert left.is_dir()
