"""Reading an archive. Nothing is unpacked to disk, and nothing is believed before its hash is."""

import hashlib
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType
from typing import IO, Any

from app.archive import package
from app.archive.directory import FILE, check_end, checked_entries, too_long
from app.archive.limits import MOST_UNPACKED_BYTES, most_bytes
from app.archive.readings_file import read_readings
from app.archive.table_file import read_table
from app.domain.errors import Refused
from app.domain.readings import Readings
from app.domain.record_table import RecordTable, Row
from app.domain.saying import say

_PIECE = 1 << 20


class Archive:
    """An archive whose every entry has been checked. Use open_archive."""

    def __init__(self, opened: zipfile.ZipFile, most_unpacked: int) -> None:
        """Raises Refused where anything of it is not as its descriptor says."""
        self._most_unpacked = most_unpacked
        self._reading: set[IO[bytes]] = set()
        self._zip = opened
        self._entries = checked_entries(opened.infolist())
        if package.PACKAGE_PATH not in self._entries:
            raise Refused.because(
                FILE,
                say("a ZIP file without {package_path}", package_path=package.PACKAGE_PATH),
                say("a ZIP from fadeline export"),
            )
        self._package = package.read_package(self._bytes(package.PACKAGE_PATH))
        self._check_listed()
        self._check_hashes()

    def __enter__(self) -> "Archive":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
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

    def rows(self, table: RecordTable) -> Iterator[Row]:
        """The rows of a table. Raises Refused where it is missing or wrong."""
        path = package.table_path(table.name)
        if path not in self._entries:
            if table.added_later:
                return
            raise Refused.because(FILE, say("no {path}", path=path), say("every table"))
        with self._open(path) as file:
            yield from read_table(table, file, path, self._package.listed[path].missing)

    def readings(self, path: str) -> Readings:
        """One file of readings. Raises Refused where it is missing or wrong."""
        self._needed(path)
        with self._open(path) as file:
            return read_readings(file, path)

    def original(self, sha256: str) -> bytes:
        return self._named_by_hash(package.original_path(sha256), sha256)

    def photo(self, sha256: str) -> bytes:
        return self._named_by_hash(package.photo_path(sha256), sha256)

    def _named_by_hash(self, path: str, sha256: str) -> bytes:
        self._needed(path)
        found = self._package.listed[path].sha256
        if found != sha256:
            raise Refused.because(f"{path}, SHA-256", found, say("the one in its name"))
        return self._bytes(path)

    def _needed(self, path: str) -> None:
        if path not in self._entries:
            raise Refused.because(
                FILE, say("no {path}", path=path), say("every file that a table names")
            )

    def _check_listed(self) -> None:
        """Every entry is listed and every listed one is there."""
        there = set(self._entries) - {package.PACKAGE_PATH}
        listed = set(self._package.listed)
        for path in sorted(listed - there):
            raise Refused.because(
                FILE,
                say("no {path}", path=path),
                say("every entry of {package_path}", package_path=package.PACKAGE_PATH),
            )
        for path in sorted(there - listed):
            allowed = say("entries that {package_path} lists", package_path=package.PACKAGE_PATH)
            raise Refused.because(f"{FILE}, entry", path, allowed)

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
                    "the one in {package_path}: the file was changed or is damaged",
                    package_path=package.PACKAGE_PATH,
                )
                raise Refused.because(f"{path}, SHA-256", digest.hexdigest()[:16] + "…", allowed)

    def _bytes(self, path: str) -> bytes:
        data = bytearray()
        with self._open(path) as file:
            for piece in _pieces(file):
                data += piece
                self._check_ceilings(path, len(data), len(data))
        return bytes(data)

    def _check_ceilings(self, path: str, size: int, total: int) -> None:
        """The real size, whatever the directory declared."""
        if size > most_bytes(path):
            raise too_long(path, size)
        if total > self._most_unpacked:
            raise too_long(FILE, total, self._most_unpacked)

    @contextmanager
    def _open(self, path: str) -> Iterator[IO[bytes]]:
        with saying_damage(path), self._zip.open(self._entries[path]) as file:
            self._reading.add(file)
            try:
                yield file
            finally:
                self._reading.discard(file)


def open_archive(path: Path, most_unpacked: int | None = None) -> Archive:
    """Open an archive and check every entry. Raises Refused, with one sentence.

    most_unpacked is how many bytes all its entries may have together, where less than usual.
    """
    try:
        with path.open("rb") as file:
            check_end(file)
    except OSError as error:
        raise Refused.because(
            FILE, path, say("a file that can be read ({strerror})", strerror=error.strerror)
        ) from error
    try:
        with saying_damage(FILE):
            opened = zipfile.ZipFile(path)
    except (ValueError, struct.error) as error:
        raise Refused.because(
            FILE, say("a damaged ZIP file"), say("a whole one ({error})", error=error)
        ) from error
    try:
        return Archive(opened, most_unpacked or MOST_UNPACKED_BYTES)
    except BaseException:
        opened.close()
        raise


@contextmanager
def saying_damage(where: str) -> Iterator[None]:
    """Turn what the libraries say of a broken ZIP file into one sentence."""
    try:
        yield
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as error:
        raise Refused.because(
            where, say("a damaged ZIP file"), say("a whole one ({error})", error=error)
        ) from error


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    while piece := file.read(_PIECE):
        yield piece
