"""What is no good archive is refused in one sentence, and what was there stays as it was."""

import hashlib
import json
import stat
import zipfile

import pytest

from app.archive import directory, limits, reader
from app.domain.errors import Refused
from app.services import records
from tests.archives import (
    entries_of,
    exported,
    many_entries,
    packed,
    relist,
    spoiled,
)


@pytest.fixture
def refused(mine, tmp_path):
    before = exported(mine, tmp_path / "before.zip")

    def check(path, match):
        for attempt in (
            lambda: records.look_at_archive(mine, path),
            lambda: records.restore_records(mine, path, merge=True),
        ):
            with pytest.raises(Refused, match=match) as caught:
                attempt()
            sentence = str(caught.value)
            assert len(caught.value.problems) == 1
            assert sentence.endswith(".")
            assert "\n" not in sentence
            assert len(sentence) < 1000
        assert exported(mine, tmp_path / "after.zip") == before

    return check


def replaced(path, old, new):
    def spoil(entries):
        assert old in entries[path], (old, entries[path])
        entries[path] = entries[path].replace(old, new, 1)

    return spoil


def removed(prefix):
    def spoil(entries):
        for path in [one for one in entries if one.startswith(prefix)]:
            del entries[path]

    return spoil


def added(path, data=b""):
    return lambda entries: entries.update({path: data})


def appended(path, data):
    def spoil(entries):
        entries[path] += data

    return spoil


def packaged(**changes):
    def spoil(entries):
        package = json.loads(entries["datapackage.json"])
        entries["datapackage.json"] = json.dumps(package | changes).encode()

    return spoil


def first(prefix, change):
    """Change the first entry whose path begins so."""

    def spoil(entries):
        path = next(
            one for one in sorted(entries) if one.startswith(prefix) and "schema" not in one
        )
        entries[path] = change(entries[path])

    return spoil


BATTERY, TEST, SHARE = "tables/battery.csv", "tables/discharge.csv", "tables/share.csv"
REVISION = "tables/revision.csv"
# What is spoiled, and what the sentence must say.
SPOILED = [
    # entries that no export has
    (added("../outside.csv"), "names such as"),
    (added("tables/../../outside.csv"), "names such as"),
    (added("/etc/outside"), "names such as"),
    (added("C:/outside"), "names such as"),
    (added("tables\\outside.csv"), "names such as"),
    (added("originals/x"), "names such as"),
    (added("tables/unknown.exe"), "names such as"),
    # tables
    (removed(BATTERY), "no tables/battery.csv"),
    (removed("readings/"), r"no readings/[0-9a-f]{32}\.csv"),
    (removed("replaced/"), r"no replaced/[0-9a-f]{40}"),
    (removed("originals/"), r"no originals/"),
    (removed("photos/"), r"no photos/"),
    (replaced(BATTERY, b",name,", b",nickname,"), "battery.csv, columns: got “nickname”"),
    (replaced(BATTERY, b",name,", b",uid,"), "uid twice"),
    (replaced(BATTERY, b",notes", b""), "expected also: notes"),
    (replaced(BATTERY, b"uid", b"\xef\xbb\xbfuid"), "columns: got"),
    (lambda entries: entries.update({BATTERY: b""}), "also: uid"),
    (appended(BATTERY, b"1,2\r\n"), "battery.csv, row 3: got “2 cells”"),
    (appended(BATTERY, b"\r\n"), "0 cells"),
    (appended(BATTERY, b'"never closed'), "RFC 4180"),
    (appended(BATTERY, b"x" * 2_000_000), "field larger"),
    (appended(BATTERY, b"\xff"), "battery.csv: got “the byte 0xff”, expected text in UTF-8"),
    (lambda e: e.update({BATTERY: e[BATTERY].decode().encode("utf-16")}), "expected text in UTF-8"),
    (replaced(BATTERY, b"Bench", b"Be\0nch"), "NUL"),
    # values
    (replaced(BATTERY, b",101.0,", b",many,"), "row 1, rated_ah: got “many”"),
    (replaced(BATTERY, b",101.0,", b",-101.0,"), "a number from 0.1 to 100000 Ah"),
    (replaced(BATTERY, b",101.0,", b",NaN,"), "rated_ah"),
    (replaced(BATTERY, b",lfp,", b",plutonium,"), "one of: lfp"),
    (replaced(BATTERY, b",true,", b",yes,"), "true or false"),
    (replaced(TEST, b"2026-11-15T", b"2026-11-31T"), "started_at"),
    (replaced(TEST, b",60,", b",9000,"), "utc_offset_minutes"),
    (replaced(TEST, b",[],", b",{},"), "a JSON array of texts"),
    (replaced(TEST, b",[],", b",[1],"), "a JSON array of texts"),
    (replaced(TEST, b",[],", b",NULL_,"), "assumptions: got “nothing”"),
    (replaced("tables/event.csv", b",moved,", b",flew,"), "one of: moved"),
    (replaced("tables/run.csv", b",running,", b",walking,"), "one of: running"),
    (replaced("tables/file_shape.csv", b"elapsed_s", b"elapsed_x"), "uses of columns"),
    (replaced("tables/file_shape.csv", b"delimiter", b"delimiterr"), "a layout"),
    (replaced(SHARE, b"fade,", b"everything,"), "names with commas"),
    (replaced(SHARE, b"t" * 32, b"u" * 32), "the SHA-256 of its token"),
    (replaced(SHARE, b"t" * 32, b"/" * 32), "a token of"),
    (replaced("tables/revision.csv", b",battery,", b",nothing,"), "the name of a table"),
    (replaced("tables/revision.csv", b'"{""', b'"[""'), "a JSON object"),
    (replaced("tables/revision.csv", b"replaced/", b"../"), "no ../"),
    (replaced("tables/attachment.csv", b",24\r\n", b",25\r\n"), "the size of the file"),
    # what no export could write out again
    (replaced(REVISION, b'""price"":987654.0', b'""price"":1e999'), "a JSON object"),
    (replaced(REVISION, b'""price"":987654.0', b'""price"":""\\ud800""'), "a JSON object"),
    (replaced(REVISION, b'""price"":987654.0', b'""price"":{""base64"":""x""}'), "plain values of"),
    (replaced(REVISION, b'""price"":987654.0', b'""prize"":987654.0'), "plain values of battery"),
    # references
    (replaced(TEST, b",1,1,2026", b",77,1,2026"), "battery_id: got “77”, expected the number of"),
    (replaced(TEST, b",1,1,2026", b",1,77,2026"), "meter_id: got “77”"),
    (replaced("tables/revision.csv", b",battery,1,", b",battery,77,"), "thing_id: got “77”"),
    (replaced("tables/revision.csv", b'""battery_id"":1', b'""battery_id"":77'), "before"),
    (replaced("tables/revision.csv", b'""battery_id"":1', b'""battery_id"":""1""'), "before"),
    # repeats
    (
        lambda e: e.update({SHARE: e[SHARE] + e[SHARE].splitlines(True)[1]}),
        "each number once|repeat",
    ),
    # readings
    (first("readings/", lambda data: data.replace(b"current_a", b"current_b")), "columns: got"),
    (first("readings/", lambda data: data + b"1,2\r\n"), "got “2 cells”"),
    (first("readings/", lambda data: data + b"99999999,nan,,,\r\n"), "current_a: got “nan”"),
    (first("readings/", lambda data: data + b",1,,,\r\n"), "elapsed_s"),
    (first("readings/", lambda data: data + b"99999999,1E300,,,\r\n"), "current_a"),
    (first("readings/", lambda data: data[:60]), "at least two readings|cells"),
    (first("readings/", lambda data: data + b"0,9,,,\r\n"), "Bench battery, capacity test of"),
    # files
    (first("photos/", lambda data: b"<html>" + data), "SHA-256"),
    (first("originals/", lambda data: b"x" + data), "the one in its name"),
    (
        replaced("tables/photo.csv", b",80,40,", b",81,40,"),
        r"width and height: got “81 × 40”, expected the size of the JPEG picture \(it has 80 × 40",
    ),
    # the descriptor
    (
        packaged(fadeline={"format": 2}),
        "format 2, which a newer Fadeline reads”, expected format 1",
    ),
    (packaged(fadeline={"format": 0}), "format 0”, expected format 1"),
    (packaged(fadeline=None), "a package that fadeline export wrote"),
    (packaged(resources={}), "a list of entries"),
    (packaged(resources=[1]), "entries with a path"),
    (packaged(resources=[{"path": "x", "hash": "md5:1", "bytes": 1}]), "sha256"),
    (packaged(resources=[{"path": "x", "hash": "sha256:" + "0" * 64, "bytes": True}]), "bytes of"),
    (lambda entries: entries.update({"datapackage.json": b"{"}), "a Data Package"),
    (lambda entries: entries.update({"datapackage.json": b"[" * 200_000}), "a Data Package"),
]
RELISTED = [case for case in SPOILED if not case[1].startswith(("format", "a package", "a list"))]


@pytest.mark.parametrize(("spoil", "match"), SPOILED)
def test_what_was_spoiled_is_refused(archive, tmp_path, refused, spoil, match):
    entries = entries_of(archive)
    spoil(entries)
    if entries["datapackage.json"] == entries_of(archive)["datapackage.json"]:
        relist(entries)
    refused(packed(entries, tmp_path / "b.zip"), match)


def test_a_changed_table_is_found_by_its_hash(archive, tmp_path, refused):
    entries = entries_of(archive)
    entries[BATTERY] = entries[BATTERY].replace(b"101.0", b"201.0")
    refused(packed(entries, tmp_path / "b.zip"), "battery.csv, SHA-256")


def test_an_entry_that_is_not_listed_is_refused(archive, tmp_path, refused):
    entries = entries_of(archive) | {"tables/extra.csv": b""}
    refused(packed(entries, tmp_path / "b.zip"), "entries that datapackage.json lists")


def test_an_entry_that_is_listed_and_missing_is_refused(archive, tmp_path, refused):
    entries = entries_of(archive)
    del entries[SHARE]
    refused(packed(entries, tmp_path / "b.zip"), "no tables/share.csv")


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
    refused(tmp_path / "b.zip", "archive: got")


@pytest.mark.parametrize("content", [b"", b"PK", b"no ZIP at all", b"PK\x03\x04" * 50])
def test_what_is_no_zip_is_refused(tmp_path, refused, content):
    (tmp_path / "b.zip").write_bytes(content)
    refused(tmp_path / "b.zip", "ZIP")


def test_what_is_not_there_is_refused(tmp_path, refused):
    refused(tmp_path / "none.zip", "a file that can be read")
    refused(tmp_path, "a file that can be read")


def test_another_zip_is_refused(tmp_path, refused):
    refused(packed({"README.txt": b""}, tmp_path / "b.zip"), "without datapackage.json")


def test_an_archive_inside_a_zip_is_refused_and_not_opened(archive, tmp_path, refused):
    nested = packed({"originals/" + "0" * 64: archive.read_bytes()}, tmp_path / "b.zip")
    refused(nested, "without datapackage.json")


@pytest.mark.parametrize("count", [60_000, 100_000])
def test_a_zip_of_very_many_entries_is_refused_before_they_are_read(
    tmp_path, refused, monkeypatch, count
):
    path = many_entries(tmp_path / "b.zip", count)
    monkeypatch.setattr(zipfile, "ZipFile", None)
    with pytest.raises(Refused, match="at most 50,000 entries"):
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
    bomb = bytes(limits.MOST_FILE_BYTES + 1)
    path = spoiled(archive, tmp_path / "b.zip", added("originals/" + "0" * 64, bomb))
    assert path.stat().st_size < 1_000_000
    refused(path, "originals/0+, unpacked: got “100 MB”, expected at most 100 MB")


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
    monkeypatch.setattr(directory, "MOST_UNPACKED_BYTES", total - 1)
    refused(archive, "archive, unpacked")
    monkeypatch.undo()
    # Counted again while unpacking, whatever the directory said.
    monkeypatch.setattr(reader, "MOST_UNPACKED_BYTES", 10_000)
    refused(archive, "archive, unpacked")


def test_one_endless_line_is_refused(archive, tmp_path, refused):
    endless = b'"' + b"x\n" * 10 + b"x" * (limits.MOST_LINE + 1)
    refused(spoiled(archive, tmp_path / "b.zip", appended(BATTERY, endless)), "line|larger")
