"""What is no good archive is refused in one sentence, and what was there stays as it was."""

import pytest

from tests.archive.spoiling import (
    BATTERY,
    added,
    appended,
    first,
    one_more,
    packaged,
    removed,
    replaced,
)
from tests.archives import (
    entries_of,
    packed,
    relist,
)

TEST = "tables/discharge.csv"
MESSAGE = b',"[{""text"": ""a"", ""values"": {}}]",'
SHARE = "tables/share.csv"
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
    (removed("readings/"), r"no readings of [0-9a-f]{32}"),
    (removed("replaced/"), r"no replaced/[0-9a-f]{40}"),
    (removed("originals/"), r"no originals/"),
    (removed("photos/"), r"no photos/"),
    (replaced(BATTERY, b",name,", b",nickname,"), "battery.csv, columns”: “nickname”"),
    (replaced(BATTERY, b",name,", b",uid,"), "uid twice"),
    (replaced(BATTERY, b",notes", b""), "It needs also: notes"),
    (replaced(BATTERY, b"uid", b"\xef\xbb\xbfuid"), "columns”: “"),
    (lambda entries: entries.update({BATTERY: b""}), "also: uid"),
    (appended(BATTERY, b"1,2\r\n"), "battery.csv, row 3”: “2 cells”"),
    (appended(BATTERY, b"\r\n"), "0 cells"),
    (appended(BATTERY, b'"never closed'), "RFC 4180"),
    (appended(BATTERY, b"x" * 2_000_000), "field larger"),
    (
        appended(BATTERY, b"\xff"),
        "battery.csv”: “the byte 0xff” does not fit. It needs text in UTF-8",
    ),
    (lambda e: e.update({BATTERY: e[BATTERY].decode().encode("utf-16")}), "It needs text in UTF-8"),
    (replaced(BATTERY, b"Bench", b"Be\0nch"), "NUL"),
    # values
    (replaced(BATTERY, b",101.0,", b",many,"), "row 1, rated_ah”: “many”"),
    (replaced(BATTERY, b",101.0,", b",-101.0,"), "a number from 0.1 to 100000 Ah"),
    (replaced(BATTERY, b",101.0,", b",NaN,"), "rated_ah"),
    (replaced(BATTERY, b",lfp,", b",plutonium,"), "one of: lfp"),
    (replaced(BATTERY, b",true,", b",yes,"), "true or false"),
    (replaced(TEST, b"2026-11-15T", b"2026-11-31T"), "started_at"),
    (replaced(TEST, b",60,", b",9000,"), "utc_offset_minutes"),
    (replaced(TEST, b",[],", b",{},"), "a JSON array of texts"),
    (replaced(TEST, b",[],", b",[1],"), "a JSON array of texts"),
    # as the data file keeps one
    (replaced(TEST, b",[],", MESSAGE), "a JSON array of texts"),
    (replaced(TEST, b",[],", b",NULL_,"), "assumptions”: “nothing”"),
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
    (
        replaced(TEST, b",1,1,2026", b",77,1,2026"),
        "battery_id”: “77” does not fit. It needs the number of",
    ),
    (replaced(TEST, b",1,1,2026", b",1,77,2026"), "meter_id”: “77”"),
    (replaced("tables/revision.csv", b",battery,1,", b",battery,77,"), "thing_id”: “77”"),
    (replaced("tables/revision.csv", b'""battery_id"":1', b'""battery_id"":77'), "before"),
    (replaced("tables/revision.csv", b'""battery_id"":1', b'""battery_id"":""1""'), "before"),
    # repeats
    (
        lambda e: e.update({SHARE: e[SHARE] + e[SHARE].splitlines(True)[1]}),
        "each number once|repeat",
    ),
    # readings
    (first("readings/", lambda data: data.replace(b"current_a", b"current_b")), "columns”: “"),
    (first("readings/", lambda data: data + b"1,2\r\n"), "“2 cells”"),
    (first("readings/", lambda data: one_more(data, b"99999999,nan,,,,")), "current_a”: “nan”"),
    (first("readings/", lambda data: one_more(data, b",1,,,,")), "elapsed_s"),
    (first("readings/", lambda data: one_more(data, b"99999999,1E300,,,,")), "current_a"),
    (first("readings/", lambda data: data[:120]), "at least two readings|cells"),
    (
        first("readings/", lambda data: one_more(data, b"0,9,,,,")),
        "Bench battery, capacity test of",
    ),
    # files
    (first("photos/", lambda data: b"<html>" + data), "SHA-256"),
    (first("originals/", lambda data: b"x" + data), "the one in its name"),
    (
        replaced("tables/photo.csv", b",80,40,", b",81,40,"),
        r"width and height”: “81 × 40” does not fit. It needs the size of the JPEG picture \(it",
    ),
    # the descriptor
    (
        packaged(fadeline={"format": 3}),
        "format 3, which a newer Fadeline reads” does not fit. It needs format 1 or 2",
    ),
    (packaged(fadeline={"format": 0}), "format 0” does not fit. It needs format 1 or 2"),
    (packaged(fadeline=None), "a package that fadeline export wrote"),
    (packaged(resources={}), "a list of entries"),
    (packaged(resources=[1]), "entries with a path"),
    (packaged(resources=[{"path": "x", "hash": "md5:1", "bytes": 1}]), "sha256"),
    (packaged(resources=[{"path": "x", "hash": "sha256:" + "0" * 64, "bytes": True}]), "bytes of"),
    (lambda entries: entries.update({"datapackage.json": b"{"}), "a Data Package"),
    (lambda entries: entries.update({"datapackage.json": b"[" * 5_000}), "a Data Package"),
    (lambda entries: entries.update({"datapackage.json": b"[" * 50_000}), "a Data Package"),
    (lambda entries: entries.update({"datapackage.json": b"[" * 200_000}), "“200 kB”"),
]


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
