"""What is small and unpacks to far too much is refused before it is unpacked."""

import hashlib
import zipfile

import pytest

from app.archive import limits, reader, zip_directory
from app.domain.errors import InvalidInput
from tests.archive.spoiling import BATTERY, added, appended
from tests.archives import (
    entries_of,
    many_entries,
    spoiled,
)

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("count", [60_000, 100_000])
def test_a_zip_of_very_many_entries_is_refused_before_they_are_read(
    tmp_path, refused, monkeypatch, count
):
    path = many_entries(tmp_path / "b.zip", count)
    monkeypatch.setattr(zipfile, "ZipFile", None)
    with pytest.raises(InvalidInput, match="at most 50,000 entries"):
        reader.open_archive(path)
    monkeypatch.undo()
    refused(path, "at most 50,000 entries")


def test_a_directory_that_lies_about_its_length_is_refused(tmp_path, refused):
    path = many_entries(tmp_path / "b.zip", 60_000)
    data = bytearray(path.read_bytes())
    at = data.rindex(b"PK\x05\x06")
    data[at + 8 : at + 12] = b"\x01\x00\x01\x00"
    path.write_bytes(data)
    refused(path, "at most 50,000 entries")


def test_a_bomb_that_says_how_large_it_is_is_refused_before_it_is_unpacked(
    archive, tmp_path, refused
):
    bomb = bytes(limits.MAX_FILE_BYTES + 1)
    path = spoiled(archive, tmp_path / "b.zip", added("originals/" + "0" * 64, bomb))
    assert path.stat().st_size < 1_000_000
    refused(path, "originals/0+, unpacked”: “100 MB” does not fit. It needs at most 100 MB")


def test_a_bomb_that_lies_about_its_size_is_refused(archive, tmp_path, refused):
    digest = hashlib.sha256(bytes(2_000_000)).hexdigest()
    path = spoiled(archive, tmp_path / "b.zip", added(f"originals/{digest}", bytes(2_000_000)))
    data = path.read_bytes()
    size = (2_000_000).to_bytes(4, "little")
    assert data.count(size) >= 2
    path.write_bytes(data.replace(size, (100).to_bytes(4, "little")))
    refused(path, "a damaged ZIP file|SHA-256")


def test_small_entries_that_are_large_together_are_refused(archive, tmp_path, refused, monkeypatch):
    total = sum(map(len, entries_of(archive).values()))
    monkeypatch.setattr(zip_directory, "MAX_UNPACKED_BYTES", total - 1)
    refused(archive, "archive, unpacked")
    monkeypatch.undo()
    # Counted again while unpacking, whatever the directory said.
    monkeypatch.setattr(reader, "MAX_UNPACKED_BYTES", 10_000)
    refused(archive, "archive, unpacked")


def test_one_endless_line_is_refused(archive, tmp_path, refused):
    endless = b'"' + b"x\n" * 10 + b"x" * (limits.MAX_ROW_LENGTH + 1)
    refused(spoiled(archive, tmp_path / "b.zip", appended(BATTERY, endless)), "line|larger")
