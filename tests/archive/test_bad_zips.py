"""A ZIP that is damaged or odd in itself is refused."""

import stat
import zipfile

import pytest

from tests.archive.spoiling import BATTERY
from tests.archives import (
    entries_of,
    packed,
)

pytestmark = pytest.mark.any_database


def test_an_entry_twice_is_refused(archive, tmp_path, refused):
    path = packed(entries_of(archive), tmp_path / "b.zip")
    with zipfile.ZipFile(path, "a") as opened, pytest.warns(UserWarning, match="Duplicate"):
        opened.writestr(BATTERY, b"")
    refused(path, "battery.csv twice")


@pytest.mark.parametrize(("kind", "match"), [(stat.S_IFLNK, "a link"), (stat.S_IFIFO, "no file")])
def test_an_entry_that_is_no_plain_file_is_refused(archive, tmp_path, refused, kind, match):
    path = packed(entries_of(archive), tmp_path / "b.zip")
    link = zipfile.ZipInfo("tables/link.csv")
    link.external_attr = (kind | 0o777) << 16
    with zipfile.ZipFile(path, "a") as opened:
        opened.writestr(link, b"/etc/passwd")
    refused(path, match)


def test_an_encrypted_entry_is_refused(archive, tmp_path, refused):
    data = bytearray(archive.read_bytes())
    at = data.index(b"PK\x01\x02")
    data[at + 8] |= 1
    (tmp_path / "b.zip").write_bytes(data)
    refused(tmp_path / "b.zip", "an encrypted file")


def test_a_packing_that_is_not_common_is_refused(archive, tmp_path, refused):
    with zipfile.ZipFile(tmp_path / "b.zip", "w", zipfile.ZIP_LZMA) as opened:
        for name, data in entries_of(archive).items():
            opened.writestr(name, data)
    refused(tmp_path / "b.zip", "packing method 14")


@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 0.99])
def test_half_a_file_is_refused(archive, tmp_path, refused, share):
    data = archive.read_bytes()
    (tmp_path / "b.zip").write_bytes(data[: int(len(data) * share)])
    refused(tmp_path / "b.zip", "archive”: “")


@pytest.mark.parametrize("content", [b"", b"PK", b"no ZIP at all", b"PK\x03\x04" * 50])
def test_what_is_no_zip_is_refused(tmp_path, refused, content):
    (tmp_path / "b.zip").write_bytes(content)
    refused(tmp_path / "b.zip", "ZIP")


def test_what_is_not_there_is_refused(tmp_path, refused):
    refused(tmp_path / "none.zip", "a file that can be read")
    refused(tmp_path, "a file that can be read")


def test_another_zip_is_refused(tmp_path, refused):
    refused(packed({"README.txt": b""}, tmp_path / "b.zip"), "has no datapackage.json")


def test_an_archive_inside_a_zip_is_refused_and_not_opened(archive, tmp_path, refused):
    nested = packed({"originals/" + "0" * 64: archive.read_bytes()}, tmp_path / "b.zip")
    refused(nested, "has no datapackage.json")
