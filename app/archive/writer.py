"""Writing an archive: the same records give the same bytes (with the same version of zlib)."""

import hashlib
import stat
import zipfile
from collections.abc import Iterable, Iterator
from itertools import groupby
from pathlib import Path

from app.archive import package
from app.archive.limits import MAX_ENTRIES, MAX_SHARED_ROWS, MAX_UNPACKED_BYTES, most_bytes
from app.archive.package import Label, Resource
from app.archive.readings_file import readings_bytes, shared_bytes
from app.archive.table_file import table_bytes
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.records.table_schema import Row, TableSchema

# The earliest moment that a ZIP file can name: when it was written is nobody's business.
_MOMENT = (1980, 1, 1, 0, 0, 0)
_UNIX = 3


class ArchiveWriter:
    """Entries in the order in which they are added; the descriptor comes last, with all hashes."""

    def __init__(self, path: Path) -> None:
        self._zip = zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED)
        self._resources: list[Resource] = []
        self._size = 0

    def __enter__(self) -> "ArchiveWriter":
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()

    @property
    def entries(self) -> int:
        return len(self._resources)

    def add_readme(self, text: str) -> None:
        resource = package.file_resource(package.README_PATH, "What is in here", "text/plain")
        self._add(resource, [text.encode()])

    def add_table(self, table: TableSchema, rows: Iterable[Row], missing: str) -> None:
        self._add(package.table_resource(table, missing), table_bytes(table, rows, missing))

    def add_readings_schema(self, path: str, *, shared: bool = False) -> None:
        title = f"Columns of all files in {path.split('/')[0]}/"
        resource = package.file_resource(path, title, "application/json")
        self._add(resource, [package.readings_schema(shared=shared).encode()])

    def add_readings(self, path: str, title: str, readings: Readings, schema: str) -> None:
        """One file with the readings of one test."""
        self._add(package.readings_resource(path, title, schema), readings_bytes(readings))

    def add_shared_readings(self, tests: Iterable[tuple[str, Readings]]) -> None:
        """The readings of all tests, by lasting name: whole tests in as few files as may be."""
        for number, some in groupby(tests, key=_FileNumber()):
            path, title = package.shared_path(number), "Readings of capacity tests"
            self._add(package.readings_resource(path, title), shared_bytes(some))

    def add_original(self, sha256: str, data: bytes) -> None:
        path = package.original_path(sha256)
        resource = package.file_resource(path, "An original file", "application/octet-stream")
        self._add(resource, [data])

    def add_photo(self, sha256: str, jpeg: bytes) -> None:
        resource = package.file_resource(package.photo_path(sha256), "A photo", "image/jpeg")
        # A JPEG file is compressed already.
        self._add(resource, [jpeg], zipfile.ZIP_STORED)

    def finish(self, label: Label) -> None:
        """Write the descriptor; nothing can be added afterwards."""
        text = package.package_text(self._resources, label)
        with self._zip.open(_entry(package.PACKAGE_PATH, zipfile.ZIP_DEFLATED), "w") as file:
            file.write(text.encode())

    def _add(
        self, resource: Resource, pieces: Iterable[bytes], compression: int = zipfile.ZIP_DEFLATED
    ) -> None:
        path, digest, size = resource["path"], hashlib.sha256(), 0
        with self._zip.open(_entry(path, compression), "w") as file:
            for piece in pieces:
                file.write(piece)
                digest.update(piece)
                size += len(piece)
                _check_size(path, size)
        resource |= {"bytes": size, "hash": f"sha256:{digest.hexdigest()}"}
        self._resources.append(resource)
        self._size += size
        if self._size > MAX_UNPACKED_BYTES or self.entries >= MAX_ENTRIES:
            most = say(
                "at most {count:,} files of {size:.0f} GB together",
                count=MAX_ENTRIES,
                size=MAX_UNPACKED_BYTES / 1e9,
            )
            found = say(
                "{count:,} files of {size:.1f} GB", count=self.entries, size=self._size / 1e9
            )
            raise InvalidInput.because(say("records for one archive"), found, most)


class _FileNumber:
    """In which file each test goes: the next one where the rows of this one would be too many."""

    def __init__(self) -> None:
        self._number, self._rows = 1, 0

    def __call__(self, test: tuple[str, Readings]) -> int:
        rows = len(test[1])
        if self._rows and self._rows + rows > MAX_SHARED_ROWS:
            self._number, self._rows = self._number + 1, 0
        self._rows += rows
        return self._number


def _check_size(path: str, size: int) -> None:
    """What could not be read back is not written either."""
    if size > most_bytes(path):
        allowed = say("at most {most:.0f} MB", most=most_bytes(path) / 1e6)
        where = say("{entry} of the archive", entry=path)
        raise InvalidInput.because(where, f"{size / 1e6:.0f} MB", allowed)


def sha256_of(pieces: Iterator[bytes]) -> str:
    """The hash of a file that is made a piece at a time."""
    digest = hashlib.sha256()
    for piece in pieces:
        digest.update(piece)
    return digest.hexdigest()


def _entry(path: str, compression: int) -> zipfile.ZipInfo:
    """An entry with nothing of this machine or moment in it."""
    entry = zipfile.ZipInfo(path, _MOMENT)
    entry.compress_type = compression
    entry.create_system = _UNIX
    entry.external_attr = (stat.S_IFREG | 0o644) << 16
    return entry
