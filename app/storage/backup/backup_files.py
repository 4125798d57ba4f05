"""The files of a folder of backups: listed, thinned, swept. Files of other names are left alone."""

import contextlib
import os
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.domain.records.backup import Backup, BackupReason, backup_name, read_backup_name
from app.domain.records.retention import kept

SIGNATURE = b"SQLite format 3\0"
PART = ".part"
# What SQLite may lay beside a file that is being written.
BESIDE = ("-journal", "-wal", "-shm")
PART_LEFT_AFTER = timedelta(hours=1)
_MAX_TRIES = 100


class BackupTrouble(StorageError):
    """A backup could not be made in this folder; says why."""


def backups_in(folder: Path) -> list[Backup]:
    """The newest first; none where the folder cannot be looked into."""
    try:
        with os.scandir(folder) as entries:
            found = [made for entry in entries if (made := _backup(Path(entry.path))) is not None]
    except OSError:
        return []
    return sorted(found, key=lambda backup: backup.made_at, reverse=True)


def thin(folder: Path, now: datetime) -> list[Path]:
    """Remove what grew too old, each kind of backup by itself; returns what was removed.

    A file that is plainly cut short neither takes the place of a good one nor is touched.
    """
    removed: list[Path] = []
    whole = [backup for backup in backups_in(folder) if backup.whole]
    for reason in BackupReason:
        kind = [backup for backup in whole if backup.reason is reason]
        keep = kept((backup.made_at for backup in kind), now)
        for backup in kind:
            if backup.made_at not in keep:
                # One that cannot be removed now is tried again the next time.
                with contextlib.suppress(OSError):
                    backup.path.unlink()
                    removed.append(backup.path)
    return removed


def sweep(folder: Path, now: datetime) -> None:
    """Remove half copies that a killed program left; one that is still written to is younger."""
    for part in _parts(folder):
        with contextlib.suppress(OSError):
            if not _is_written_to(part, now):
                remove_part(part)


def is_under_way(folder: Path, now: datetime) -> bool:
    """Whether a copy into this folder is being written, by whatever process."""
    try:
        return any(_is_written_to(part, now) for part in _parts(folder))
    except OSError:
        # Gone between the two looks: it is a backup now.
        return False


def _parts(folder: Path) -> list[Path]:
    found = folder.glob(f"*{PART}")
    return [part for part in found if read_backup_name(part.name.removesuffix(PART)) is not None]


def _is_written_to(part: Path, now: datetime) -> bool:
    return abs(now.timestamp() - part.stat().st_mtime) <= PART_LEFT_AFTER.total_seconds()


@contextlib.contextmanager
def reserved(folder: Path, made_at: datetime, reason: BackupReason) -> Iterator[tuple[Path, Path]]:
    """A new part file and the name it may be given; the part is gone afterwards, come what may.

    Who made the part owns the name, so that two programs never write to the same one; the second
    of two in one second takes the next second's. Raises OSError.
    """
    part, final = _claim(folder, made_at, reason)
    try:
        yield part, final
    finally:
        # Where it cannot be removed, its folder is gone or is swept later.
        with contextlib.suppress(OSError):
            remove_part(part)


def _claim(folder: Path, made_at: datetime, reason: BackupReason) -> tuple[Path, Path]:
    for later in range(_MAX_TRIES):
        final = folder / backup_name(made_at + timedelta(seconds=later), reason)
        part = final.with_name(final.name + PART)
        try:
            part.open("xb").close()
        except FileExistsError:
            continue
        if not final.exists():
            return part, final
        part.unlink()
    raise BackupTrouble(
        say("Too many backups were begun in {folder} at once; try again.", folder=folder)
    )


def remove_part(part: Path) -> None:
    """Remove an unfinished copy with what SQLite wrote beside it."""
    for path in (part, *(part.with_name(part.name + tail) for tail in BESIDE)):
        path.unlink(missing_ok=True)


def has_signature(path: Path) -> bool:
    """Whether a file begins as a SQLite file does. Raises OSError.

    Never for the data file in use: closing it again would let go of SQLite's locks on it.
    """
    with path.open("rb") as file:
        return file.read(len(SIGNATURE)) == SIGNATURE


def _backup(path: Path) -> Backup | None:
    told = read_backup_name(path.name)
    if told is None:
        return None
    try:
        size = path.stat().st_size
        return Backup(path, *told, size, _is_whole(path, size))
    except OSError:
        return Backup(path, *told, 0, whole=False)


def _is_whole(path: Path, size: int) -> bool:
    """Whether a file is as long as its own head says (SQLite file format, section 1.3)."""
    with path.open("rb") as file:
        head = file.read(100)
    if len(head) < 100 or not head.startswith(SIGNATURE):
        return False
    page = int.from_bytes(head[16:18], "big")
    pages = int.from_bytes(head[28:32], "big")
    return size == pages * (65_536 if page == 1 else page)
