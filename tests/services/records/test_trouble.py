"""An export or a restore that cannot be done says why, and leaves nothing by half."""

import os
import zipfile
from pathlib import Path

import pytest
from sqlalchemy import update

from app.domain.errors import InvalidInput, StorageError
from app.services.exchange import records_archive
from app.storage.schema.tables import AttachmentRow
from tests.postgres import another_writing


def test_a_name_that_is_taken_is_refused_and_kept(filled, tmp_path):
    taken = tmp_path / "a.zip"
    taken.write_text("mine")
    with pytest.raises(InvalidInput, match="a name that is free"):
        records_archive.export_records(filled, taken)
    assert taken.read_text() == "mine"
    records_archive.export_records(filled, taken, replace=True)
    assert zipfile.is_zipfile(taken)


def test_a_folder_that_is_not_there_is_a_sentence(filled, tmp_path):
    with pytest.raises(StorageError, match="choose another place"):
        records_archive.export_records(filled, tmp_path / "none" / "a.zip")


def test_a_damaged_original_leaves_no_half_archive(filled, tmp_path):
    with filled.engine.begin() as connection:
        connection.execute(update(AttachmentRow).values(packed=b"\0"))
    folder = tmp_path / "out"
    folder.mkdir()
    with pytest.raises(StorageError, match=r"log\.csv is damaged"):
        records_archive.export_records(filled, folder / "a.zip")
    assert list(folder.iterdir()) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_a_sentence(filled, monkeypatch):
    part = os.open("/dev/null", os.O_WRONLY)
    monkeypatch.setattr(records_archive.tempfile, "mkstemp", lambda **_: (part, "/dev/full"))
    monkeypatch.setattr(Path, "unlink", lambda *_, **__: None)
    with pytest.raises(StorageError, match="No space left"):
        records_archive.export_records(filled, Path("/nowhere.zip"))


def test_a_locked_data_file_is_a_sentence_and_stays_as_it_is(filled, other, archive):
    with another_writing(other), pytest.raises(StorageError, match="Another program"):
        records_archive.restore_records(other, archive)
    assert not records_archive.holds_records(other)
