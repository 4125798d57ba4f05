"""The records as one archive that outlives the program, and back."""

import contextlib
import os
import tempfile
from collections.abc import Generator, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlmodel import Session

from app.analysis.result import analyse_test
from app.archive.limits import MOST_UNPACKED_BYTES
from app.archive.package import MISSING, missing_word, readings_path, records_label, replaced_path
from app.archive.reader import Archive, open_archive
from app.archive.readings_file import readings_bytes
from app.archive.readme import readme_text
from app.archive.writer import ArchiveWriter, sha256_of
from app.domain.errors import Problem, Refused, StorageTrouble
from app.domain.merge_report import MergeReport
from app.domain.noted import noted
from app.domain.readings import Readings
from app.domain.record_table import RecordTable, Row
from app.domain.saying import say
from app.domain.secret import digest_of
from app.services.backups import OF_THIS_MACHINE
from app.services.store import Store
from app.storage import batteries, discharges, meters, record_files, record_tables
from app.storage.engine import reading, trying, writing
from app.storage.jpeg_size import jpeg_size
from app.storage.record_merge import ContentOf, Merge, records_are_empty
from app.storage.record_moments import READING, FormerMoments, former_moments

MERGE_WORD = noted("the word to add to them (--merge on the command line, a tick on the page)")
_LINKS = ("share", "share_beside")
# A JPEG file begins so (ITU-T T.81, B.1.1.3: start of image, then the next marker).


@dataclass(frozen=True)
class Exported:
    """An archive that was written: where, how many files in it, how long."""

    path: Path
    entries: int
    size: int


def export_records(
    store: Store, target: Path, *, with_links: bool = True, replace: bool = False
) -> Exported:
    """Write everything into one ZIP. The same records give the same bytes.

    Raises Refused where the target is there already, and StorageTrouble where it cannot be
    written; then nothing is left of it.
    """
    if target.exists() and not replace:
        raise Refused.because(say("archive"), target, say("a name that is free"))
    with (
        _written_whole(target) as part,
        reading(store.engine) as session,
        ArchiveWriter(part) as archive,
    ):
        _write(session, archive, with_links)
        entries = archive.entries + 1
    return Exported(target, entries, target.stat().st_size)


def check_size(size: int) -> None:
    """Refuse an archive above the limit before it is kept. Size in bytes."""
    if size > MOST_UNPACKED_BYTES:
        allowed = say("at most {most:.0f} GB", most=MOST_UNPACKED_BYTES / 1e9)
        given = say("{size:.1f} GB", size=size / 1e9)
        raise Refused.because(say("archive"), given, allowed, "archive")


def holds_records(store: Store) -> bool:
    """Whether anything was recorded yet."""
    with reading(store.engine) as session:
        return not records_are_empty(session)


def check_archive(path: Path) -> None:
    """Read every entry of an archive against its hash. Raises Refused."""
    _open_records(path).close()


def look_at_archive(store: Store, path: Path) -> MergeReport:
    """What restoring this archive would come to. Nothing is changed. Raises Refused."""
    with _open_records(path) as archive, trying(store.engine) as session:
        return _bring_in(session, archive)


def restore_records(store: Store, path: Path, *, merge: bool = False) -> MergeReport:
    """Bring an archive into the data file, all of it or nothing.

    Raises Refused for an archive that is not whole and right, and for records that are not empty
    without the owner's word to merge.
    """
    with _open_records(path) as archive, writing(store.engine) as session:
        if not merge and not records_are_empty(session):
            raise Refused.because(say("records"), say("ones that are not empty"), say(MERGE_WORD))
        return _bring_in(session, archive)


def _open_records(path: Path) -> Archive:
    """Open an archive of all records. Raises Refused for that of one battery, too."""
    archive = open_archive(path)
    if "kind" in archive.about:
        archive.close()
        allowed = say(
            "an archive of all records; a battery that was sent is brought in as received"
        )
        found = say("that of one {kind}", kind=say(str(archive.about["kind"])))
        raise Refused.because(say("archive"), found, allowed, "archive")
    return archive


def _write(session: Session, archive: ArchiveWriter, with_links: bool) -> None:
    tables = record_tables.record_tables()
    archive.add_readme(readme_text(tables, with_links))
    archive.add_readings_schema()
    replaced: dict[str, int] = {}
    for table in tables:
        if table.name in _LINKS and not with_links:
            archive.add_table(table, (), MISSING)
            continue
        rows = record_tables.rows(session, table)
        if table.name == "setting":
            rows = (row for row in rows if row["name"] not in OF_THIS_MACHINE)
        if table.name == "revision":
            rows = _with_files_named(rows, replaced)
        archive.add_table(table, rows, _missing(session, table))
    for uid, readings in record_files.all_readings(session):
        archive.add_readings(readings_path(uid), "Readings of a capacity test", readings)
    for sha256, number in sorted(replaced.items()):
        before = record_files.replaced_row(session, number)
        title = "Readings before an edit"
        archive.add_readings(replaced_path(sha256), title, before["readings"])
    for sha256, data in record_files.all_originals(session):
        archive.add_original(sha256, data)
    for sha256, jpeg in record_files.all_photos(session):
        archive.add_photo(sha256, jpeg)
    archive.finish(records_label(with_links))


def _missing(session: Session, table: RecordTable) -> str:
    return missing_word(lambda word: record_tables.holds_text(session, table, word))


def _with_files_named(rows: Iterator[Row], replaced: dict[str, int]) -> Iterator[Row]:
    """Replaced rows whose readings are named by the file they go to; notes which those are."""
    for row in rows:
        readings = row["before"].get("readings")
        if isinstance(readings, Readings):
            sha256 = sha256_of(readings_bytes(readings))
            replaced.setdefault(sha256, row["id"])
            row["before"] |= {"readings": {"file": replaced_path(sha256)}}
        yield row


def _bring_in(session: Session, archive: Archive) -> MergeReport:
    merge = Merge(session)
    added: list[int] = []
    for table in record_tables.record_tables():
        former = _former(session, archive) if table.name == READING else None
        # Closed at once where a row is refused: the file must not stay open behind it.
        with contextlib.closing(_checked(table, archive)) as rows:
            new = merge.take(table, rows, _content_of(table, archive), former)
        if table.name == "discharge":
            added = new
    _judge(session, frozenset(added))
    return merge.report


def _former(session: Session, archive: Archive) -> FormerMoments:
    """Where the readings of the archive stood before they were moved."""
    moved: dict[int, list[datetime]] = {}
    for row in archive.rows(record_tables.record_table("revision")):
        if row["thing"] == READING:
            moved.setdefault(row["thing_id"], []).extend(former_moments([row["before"]]))
    return FormerMoments(session, moved)


def _checked(table: RecordTable, archive: Archive) -> Generator[Row, None, None]:
    """The rows of a table with what a column alone cannot say."""
    for row in archive.rows(table):
        if table.name == "setting" and row["name"] in OF_THIS_MACHINE:
            # Two machines must not take one folder of backups for their own.
            continue
        if table.name == "share" and digest_of(row["token"]) != row["token_hash"]:
            where = say("Read-only links, row with id {number}, token_hash", number=row["id"])
            raise Refused.because(where, row["token_hash"], say("the SHA-256 of its token"))
        if table.name == "revision":
            row["before"] = _with_readings(row["before"], archive)
        yield row


def _with_readings(before: dict[str, Any], archive: Archive) -> dict[str, Any]:
    named = before.get("readings")
    if not isinstance(named, dict):
        return before
    path = str(named.get("file"))
    return before | {"readings": archive.readings(path)}


def _content_of(table: RecordTable, archive: Archive) -> ContentOf | None:
    """How to get what a table keeps as bytes; None for tables of plain columns."""

    def original(row: Row) -> bytes:
        data = archive.original(row["sha256"])
        if len(data) != row["size"]:
            where = say("Original files, row with id {number}, size", number=row["id"])
            allowed = say("{size}, the size of the file", size=len(data))
            raise Refused.because(where, row["size"], allowed)
        return data

    def photo(row: Row) -> bytes:
        jpeg = archive.photo(row["sha256"])
        size = jpeg_size(jpeg)
        if size != (row["width"], row["height"]):
            given = f"{row['width']} × {row['height']}"
            if size is None:
                allowed = say("the size of the JPEG picture (it is no JPEG)")
            else:
                allowed = say(
                    "the size of the JPEG picture (it has {width} × {height})",
                    width=size[0],
                    height=size[1],
                )
            where = say("Photos, row with id {number}, width and height", number=row["id"])
            raise Refused.because(where, given, allowed)
        return jpeg

    return {
        "discharge": lambda row: archive.readings(readings_path(row["uid"])),
        "attachment": original,
        "photo": photo,
        "revision": lambda row: row["before"],
    }.get(table.name)


def _judge(session: Session, added: frozenset[int]) -> None:
    """Refuse tests that no page could show: each new one is analysed once."""
    if not added:
        return
    by_id = {meter.id: meter for meter in meters.all_kept(session)}
    # Of batteries in the bin too: out of it they must not stop every page.
    binned = [battery for battery, _ in batteries.binned(session)]
    for battery in (*batteries.all_kept(session), *binned):
        for test in discharges.of_battery(session, battery.id):
            if test.id not in added:
                continue
            meter = by_id.get(test.details.meter_id or 0)
            try:
                analyse_test(
                    test.details, battery.details, None if meter is None else meter.details
                )
            except Refused as refused:
                name = say(
                    "{battery}, capacity test of {start}",
                    battery=battery.details.name,
                    start=test.details.started_local,
                )
                raise Refused([Problem(f"{name}: {refused}", "", "")]) from refused


@contextlib.contextmanager
def _written_whole(target: Path) -> Iterator[Path]:
    """A file beside the target that takes its name at the end, or is gone."""
    part: Path | None = None
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name}-", dir=target.parent)
        os.close(handle)
        part = Path(name)
        yield part
        part.replace(target)
    except OSError as error:
        raise StorageTrouble(
            say(
                "The archive could not be written to {target} ({reason}); choose another place "
                "for it.",
                target=target,
                reason=error.strerror,
            )
        ) from error
    finally:
        if part is not None:
            part.unlink(missing_ok=True)
