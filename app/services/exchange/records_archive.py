"""The records as one archive that outlives the program, and back."""

import contextlib
import os
import tempfile
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from sqlmodel import Session

from app.archive.limits import MAX_UNPACKED_BYTES
from app.archive.package import (
    MISSING,
    READINGS_SCHEMA_PATH,
    REPLACED_SCHEMA_PATH,
    missing_word,
    records_label,
    replaced_path,
)
from app.archive.reader import Archive, open_archive
from app.archive.readings_file import readings_bytes
from app.archive.readme import readme_text
from app.archive.writer import ArchiveWriter, sha256_of
from app.domain.errors import InvalidInput, StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.records.merge_report import MergeReport
from app.domain.records.table_schema import Row, TableSchema
from app.domain.tokens import hash_token
from app.services.backups.backups import OF_THIS_MACHINE
from app.services.exchange.archive_rows import Progress, content_of, judge
from app.services.store import Store
from app.storage.database.engine import dry_run_session, read_session, write_transaction
from app.storage.records import binary_columns, tables_as_rows
from app.storage.records.archive_import import Merge, records_are_empty
from app.storage.records.moved_readings import READING, FormerMoments, former_moments

MERGE_WORD = N_(
    "Allow adding the archive to the records already here: tick the box. The records "
    "already here stay as they are."
)
_LINKS = ("share", "share_beside")
Item = TypeVar("Item")


@dataclass(frozen=True)
class Exported:
    """An archive that was written: where, how many files in it, how long."""

    path: Path
    entries: int
    size: int


def _silently(_what: str, _done: int) -> None:
    """For whoever does not want to know how far it is."""


def export_records(
    store: Store,
    target: Path,
    *,
    with_links: bool = True,
    replace: bool = False,
    progress: Progress = _silently,
) -> Exported:
    """Write everything into one ZIP. The same records give the same bytes.

    Raises InvalidInput where the target is there already, and StorageError where it cannot be
    written; then nothing is left of it.
    """
    with (
        _written_whole(target, replace=replace) as part,
        read_session(store.engine) as session,
        ArchiveWriter(part) as archive,
    ):
        _write(session, archive, with_links, progress)
        entries = archive.entries + 1
    return Exported(target, entries, target.stat().st_size)


def check_size(size: int) -> None:
    """Refuse an archive above the limit before it is kept. Size in bytes."""
    if size > MAX_UNPACKED_BYTES:
        words = say(
            "Choose a smaller archive: this one has {size:.1f} GB, and at most {most:.0f} GB can "
            "be restored.",
            size=size / 1e9,
            most=MAX_UNPACKED_BYTES / 1e9,
        )
        raise InvalidInput.saying(words, "archive")


def holds_records(store: Store) -> bool:
    """Whether anything was recorded yet."""
    with read_session(store.engine) as session:
        return not records_are_empty(session)


def check_archive(path: Path) -> None:
    """Read every entry of an archive against its hash. Raises InvalidInput."""
    _open_records(path).close()


def look_at_archive(store: Store, path: Path, progress: Progress = _silently) -> MergeReport:
    """What restoring this archive would come to. Nothing is changed. Raises InvalidInput."""
    with _open_records(path) as archive, dry_run_session(store.engine) as session:
        return _bring_in(session, archive, progress)


def restore_records(
    store: Store, path: Path, *, merge: bool = False, progress: Progress = _silently
) -> MergeReport:
    """Bring an archive into the data file, all of it or nothing.

    Raises InvalidInput for an archive that is not whole and right, and for records that are not
    empty without the owner's word to merge.
    """
    with _open_records(path) as archive, write_transaction(store.engine) as session:
        if not merge and not records_are_empty(session):
            raise InvalidInput.saying(say(MERGE_WORD), "merge")
        return _bring_in(session, archive, progress)


def _open_records(path: Path) -> Archive:
    """Open an archive of all records. Raises InvalidInput for that of one battery, too."""
    archive = open_archive(path)
    if "kind" in archive.about:
        archive.close()
        words = say(
            "Choose an archive of all records: this file holds one {kind}. A battery that was sent "
            "is opened as a received file.",
            kind=say(str(archive.about["kind"])),
        )
        raise InvalidInput.saying(words, "archive")
    return archive


def _write(session: Session, archive: ArchiveWriter, with_links: bool, progress: Progress) -> None:
    tables = tables_as_rows.record_tables()
    archive.add_readme(readme_text(tables, with_links))
    archive.add_readings_schema(READINGS_SCHEMA_PATH, shared=True)
    archive.add_readings_schema(REPLACED_SCHEMA_PATH)
    replaced: dict[str, int] = {}
    for table in tables:
        if table.name in _LINKS and not with_links:
            archive.add_table(table, (), MISSING)
            continue
        rows = tables_as_rows.rows(session, table)
        if table.name == "setting":
            rows = (row for row in rows if row["name"] not in OF_THIS_MACHINE)
        if table.name == "revision":
            rows = _with_files_named(rows, replaced)
        archive.add_table(table, rows, _missing(session, table))
    readings = _told(binary_columns.all_readings(session), "capacity tests written", progress)
    archive.add_shared_readings(readings)
    for sha256, number in sorted(replaced.items()):
        before = binary_columns.replaced_row(session, number)
        title = "Readings before an edit"
        path = replaced_path(sha256)
        archive.add_readings(path, title, before["readings"], REPLACED_SCHEMA_PATH)
    for sha256, data in binary_columns.all_originals(session):
        archive.add_original(sha256, data)
    for sha256, jpeg in binary_columns.all_photos(session):
        archive.add_photo(sha256, jpeg)
    archive.finish(records_label(with_links))


def _missing(session: Session, table: TableSchema) -> str:
    return missing_word(lambda word: tables_as_rows.holds_text(session, table, word))


def _with_files_named(rows: Iterator[Row], replaced: dict[str, int]) -> Iterator[Row]:
    """Replaced rows whose readings are named by the file they go to; notes which those are."""
    for row in rows:
        readings = row["before"].get("readings")
        if isinstance(readings, Readings):
            sha256 = sha256_of(readings_bytes(readings))
            replaced.setdefault(sha256, row["id"])
            row["before"] |= {"readings": {"file": replaced_path(sha256)}}
        yield row


def _told(items: Iterable[Item], what: str, progress: Progress) -> Generator[Item, None, None]:
    """Pass the items on and report each as progress."""
    for number, item in enumerate(items, start=1):
        progress(what, number)
        yield item


def _bring_in(session: Session, archive: Archive, progress: Progress) -> MergeReport:
    merge = Merge(session)
    added: list[int] = []
    for table in tables_as_rows.record_tables():
        former = _former(session, archive) if table.name == READING else None
        # Closed at once where a row is refused: the file must not stay open behind it.
        with contextlib.closing(_checked(table, archive, progress)) as rows:
            new = merge.take(table, rows, content_of(table, archive), former)
        if table.name == "discharge":
            added = new
    judge(session, frozenset(added), progress)
    return merge.report


def _former(session: Session, archive: Archive) -> FormerMoments:
    """Where the readings of the archive stood before they were moved."""
    moved: dict[int, list[datetime]] = {}
    for row in archive.rows(tables_as_rows.record_table("revision")):
        if row["thing"] == READING:
            moved.setdefault(row["thing_id"], []).extend(former_moments([row["before"]]))
    return FormerMoments(session, moved)


def _checked(
    table: TableSchema, archive: Archive, progress: Progress
) -> Generator[Row, None, None]:
    """The rows of a table with what a column alone cannot say."""
    rows: Generator[Row, None, None] = archive.rows(table)
    if table.name == "discharge":
        rows = _told(archive.with_readings(rows), "capacity tests read", progress)
    for row in rows:
        if table.name == "setting" and row["name"] in OF_THIS_MACHINE:
            # Two machines must not take one folder of backups for their own.
            continue
        if table.name == "share" and hash_token(row["token"]) != row["token_hash"]:
            where = say("Read-only links, row with id {number}, token_hash", number=row["id"])
            raise InvalidInput.because(where, row["token_hash"], say("the SHA-256 of its token"))
        if table.name == "revision":
            row["before"] = _with_readings(row["before"], archive)
        yield row


def _with_readings(before: dict[str, Any], archive: Archive) -> dict[str, Any]:
    named = before.get("readings")
    if not isinstance(named, dict):
        return before
    path = str(named.get("file"))
    return before | {"readings": archive.readings(path)}


@contextlib.contextmanager
def _written_whole(target: Path, *, replace: bool) -> Iterator[Path]:
    """A file beside the target that takes its name at the end, or is gone."""
    part: Path | None = None
    try:
        if target.exists() and not replace:
            allowed = say("a name that is free, or --replace to overwrite it")
            raise InvalidInput.because(say("archive"), target, allowed)
        handle, name = tempfile.mkstemp(prefix=f".{target.name}-", dir=target.parent)
        os.close(handle)
        part = Path(name)
        yield part
        part.replace(target)
    except OSError as error:
        raise StorageError(
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
