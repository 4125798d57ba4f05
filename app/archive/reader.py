"""Reading an archive. Nothing is unpacked to disk, and nothing is believed before its hash is."""

import hashlib
import struct
import zipfile
import zlib
from collections.abc import Generator, Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import IO, Any

from app.archive import package
from app.archive.limits import (
    MAX_ENTRIES,
    MAX_READINGS,
    MAX_UNPACKED_BYTES,
    ArchiveLimits,
    most_bytes,
)
from app.archive.package_reader import read_package
from app.archive.readings_file import NamedReadings, read_readings, read_shared
from app.archive.table_file import read_table
from app.archive.zip_directory import FILE, check_end, checked_entries, too_long
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.records.table_schema import Row, TableSchema

_PIECE = 1 << 20
# Columns of a test by which one without readings is told.
_RESULT = ("counted_ah", "counted_wh")
_NONE = Readings.of([], [])


class Archive:
    """An archive whose every entry has been checked. Use open_archive."""

    def __init__(self, opened: zipfile.ZipFile, limits: ArchiveLimits) -> None:
        """Raises InvalidInput where anything of it is not as its descriptor says."""
        self._limits = limits
        self._readings_left = limits.readings
        self._reading: set[IO[bytes]] = set()
        self._zip = opened
        self._entries = checked_entries(opened.infolist(), limits.entries)
        if package.PACKAGE_PATH not in self._entries:
            words = say(
                "Choose a ZIP that Fadeline exported: this one has no {entry}.",
                entry=package.PACKAGE_PATH,
            )
            raise InvalidInput.saying(words, "archive")
        self._package = read_package(self._bytes(package.PACKAGE_PATH), len(self._entries))
        self._check_listed()
        self._check_hashes()

    def __enter__(self) -> "Archive":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        # Rows that were not read to their end keep their entry, and with it the file, open.
        for file in list(self._reading):
            file.close()
        self._zip.close()

    @property
    def about(self) -> dict[str, Any]:
        """What the descriptor says of the archive in this program's own words, unchecked."""
        return self._package.about

    def rows(self, table: TableSchema) -> Generator[Row, None, None]:
        """The rows of a table. Raises InvalidInput where it is missing or wrong."""
        path = package.table_path(table.name)
        if path not in self._entries:
            if table.added_later:
                return
            raise _lacks(path, say("every table"))
        with self._open(path) as file:
            yield from read_table(table, file, path, self._package.listed[path].missing)

    def readings(self, path: str) -> Readings:
        """A file with the readings of one test.

        Raises InvalidInput where it is missing or wrong.
        """
        self._needed(path)
        with self._open(path) as file:
            readings = read_readings(file, path, self._readings_left)
        self._readings_left -= len(readings)
        return readings

    def with_readings(self, tests: Iterable[Row]) -> Generator[Row, None, None]:
        """Each test with its readings, one at a time in memory.

        Shared files are read along with the tests, whose order they have; so readings of another
        test, of none, twice or not at all are found without any being kept. A test of which only
        the result was noted has none. Raises InvalidInput.
        """
        if self._package.format == package.FILE_A_TEST:
            for row in tests:
                yield row | {"readings": self.readings(package.readings_path(row["uid"]))}
            return
        with closing(self._shared_readings()) as found:
            for row in tests:
                none = any(row.get(name) is not None for name in _RESULT)
                readings = _NONE if none else _of_test(next(found, None), row["uid"])
                yield row | {"readings": readings}
            more = next(found, None)
            if more is not None:
                raise InvalidInput.because(
                    more.where, more.test, say("no readings after the last test")
                )

    def _shared_readings(self) -> Generator[NamedReadings, None, None]:
        for path in self._package.shared_files:
            with self._open(path) as file:
                for found in read_shared(file, path, self._readings_left):
                    yield found
                    self._readings_left -= len(found.readings)

    def original(self, sha256: str) -> bytes:
        return self._named_by_hash(package.original_path(sha256), sha256)

    def photo(self, sha256: str) -> bytes:
        return self._named_by_hash(package.photo_path(sha256), sha256)

    def _named_by_hash(self, path: str, sha256: str) -> bytes:
        self._needed(path)
        found = self._package.listed[path].sha256
        if found != sha256:
            raise InvalidInput.because(f"{path}, SHA-256", found, say("the one in its name"))
        return self._bytes(path)

    def _needed(self, path: str) -> None:
        if path not in self._entries:
            raise _lacks(path, say("every file that a table names"))

    def _check_listed(self) -> None:
        """Every entry is listed and every listed one is there."""
        there = set(self._entries) - {package.PACKAGE_PATH}
        listed = set(self._package.listed)
        for path in sorted(listed - there):
            raise _lacks(path, say("every entry of {file}", file=package.PACKAGE_PATH))
        for path in sorted(there - listed):
            allowed = say("entries that {file} lists", file=package.PACKAGE_PATH)
            raise InvalidInput.because(say("archive, entry"), path, allowed)

    def _check_hashes(self) -> None:
        total = 0
        for path, listed in self._package.listed.items():
            digest, size = hashlib.sha256(), 0
            with self._open(path) as file:
                for piece in _pieces(file):
                    digest.update(piece)
                    size += len(piece)
                    self._check_ceilings(path, size, total + size)
            total += size
            if digest.hexdigest() != listed.sha256 or size != listed.size:
                allowed = say(
                    "the one in {file}: the file was changed or is damaged",
                    file=package.PACKAGE_PATH,
                )
                raise InvalidInput.because(
                    f"{path}, SHA-256", digest.hexdigest()[:16] + "…", allowed
                )

    def _bytes(self, path: str) -> bytes:
        data = bytearray()
        with self._open(path) as file:
            for piece in _pieces(file):
                data += piece
                self._check_ceilings(path, len(data), len(data))
        return bytes(data)

    def _check_ceilings(self, path: str, size: int, total: int) -> None:
        """The real size, whatever the directory declared."""
        most, most_in_all = most_bytes(path, len(self._entries)), self._limits.unpacked_bytes
        if size > most:
            raise too_long(path, size, most)
        if total > most_in_all:
            raise too_long(say(FILE), total, most_in_all)

    @contextmanager
    def _open(self, path: str) -> Iterator[IO[bytes]]:
        with saying_damage(path), self._zip.open(self._entries[path]) as file:
            self._reading.add(file)
            try:
                yield file
            finally:
                self._reading.discard(file)


def open_archive(path: Path, limits: ArchiveLimits | None = None) -> Archive:
    """Open an archive and check every entry. Raises InvalidInput, with one sentence.

    limits are how much it may hold, where that is less than usual.
    """
    try:
        with path.open("rb") as file:
            check_end(file)
    except OSError as error:
        allowed = say("a file that can be read ({reason})", reason=error.strerror)
        raise InvalidInput.because(say(FILE), path, allowed) from error
    try:
        with saying_damage(say(FILE)):
            opened = zipfile.ZipFile(path)
    except (ValueError, struct.error) as error:
        raise _damaged(say(FILE), error) from error
    try:
        usual = ArchiveLimits(MAX_UNPACKED_BYTES, MAX_ENTRIES, MAX_READINGS)
        return Archive(opened, limits or usual)
    except BaseException:
        opened.close()
        raise


@contextmanager
def saying_damage(where: str) -> Iterator[None]:
    """Turn what the libraries say of a broken ZIP file into one sentence."""
    try:
        yield
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as error:
        raise _damaged(where, error) from error


def _damaged(where: str, error: Exception) -> InvalidInput:
    words = say(
        "Take another copy: “{where}” is a damaged ZIP file ({reason}).", where=where, reason=error
    )
    return InvalidInput.saying(words, "archive")


def _lacks(path: str, needed: str) -> InvalidInput:
    return InvalidInput.because(say(FILE), say("no {entry}", entry=path), needed)


def _of_test(found: NamedReadings | None, uid: str) -> Readings:
    if found is None:
        lacking = say("no readings of {test}", test=uid)
        allowed = say("those of every test in tables/discharge.csv")
        raise InvalidInput.because(say(FILE), lacking, allowed)
    if found.test != uid:
        allowed = say(
            "{test}: every test of tables/discharge.csv once, in the order that it has there",
            test=uid,
        )
        raise InvalidInput.because(found.where, found.test, allowed)
    return found.readings


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    while piece := file.read(_PIECE):
        yield piece
