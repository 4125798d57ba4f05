"""What a ZIP holds, told by its directory before anything of it is unpacked."""

import io
import lzma
import zipfile
import zlib
from collections.abc import Iterator

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.ingest.containers.file_kind import (
    DOCUMENT,
    OTHER_SPREADSHEET,
    OWN_ARCHIVE,
    SLIDES,
    FileKind,
    damaged,
    kind_of,
    refused,
    too_much,
    with_password,
)

MAX_ENTRIES = 2_000
# The text of a workbook, unpacked: a sheet with all the rows that one can have.
MAX_BOOK_BYTES = 800_000_000
MAX_MEMBERS = 20
_MEMBER_BYTES = UPLOAD_LIMIT_MB * 1_000_000
_ALL_MEMBERS_BYTES = 3 * _MEMBER_BYTES
_ENCRYPTED = 0x1
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_PIECE = 1_000_000
# What an entry raises that is not what its directory says: each kind of packing has its own.
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    EOFError,
    OSError,
    RuntimeError,
    ValueError,
)
# A gzip file is as many parts as its logger closed and opened it; each costs time, empty ones too.
_MAX_PARTS = 100_000
_FED = 16_384
# What some systems add to every ZIP.
_CLUTTER = ("__MACOSX/", ".DS_Store", "Thumbs.db", "desktop.ini")


def directory(data: bytes) -> zipfile.ZipFile:
    """The directory of a ZIP. Raises InvalidInput for a broken one and one with too many entries.

    The count stands in the last lines of the file and is looked at before the entries are read.
    """
    end = data.rfind(b"PK\x05\x06", max(0, len(data) - 70_000))
    if end >= 0 and len(data) >= end + 22:
        count = int.from_bytes(data[end + 10 : end + 12], "little")
        size = int.from_bytes(data[end + 12 : end + 16], "little")
        if count > MAX_ENTRIES or size > 1_000 * MAX_ENTRIES:
            raise _too_many(count, MAX_ENTRIES)
    try:
        return zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError):
        raise damaged() from None


def kind_of_zip(archive: zipfile.ZipFile) -> FileKind:
    """A workbook, or a ZIP of files. Raises InvalidInput for documents and the like."""
    infos = archive.infolist()
    names = {info.filename for info in infos}
    if any(info.flag_bits & _ENCRYPTED for info in infos):
        raise with_password()
    if "datapackage.json" in names:
        raise refused(OWN_ARCHIVE)
    if any(name.endswith(".iwa") or name == "Index.zip" for name in names):
        raise refused(OTHER_SPREADSHEET)
    open_kind = _small(archive, "mimetype").decode(errors="replace") if "mimetype" in names else ""
    book = {"xl/workbook.xml", "xl/workbook.bin"} & names or "spreadsheet" in open_kind
    if not book:
        if open_kind.startswith("application/vnd.oasis.opendocument.presentation") or any(
            name.startswith("ppt/") for name in names
        ):
            raise refused(SLIDES)
        if open_kind.startswith("application/") or any(name.startswith("word/") for name in names):
            raise refused(DOCUMENT)
        return FileKind.ZIP
    if open_kind and b"encryption-data" in _small(archive, "META-INF/manifest.xml"):
        raise with_password()
    text = [info for info in infos if info.filename.lower().endswith((".xml", ".bin", ".rels"))]
    if sum(info.file_size for info in text) > MAX_BOOK_BYTES:
        raise too_much()
    return FileKind.WORKBOOK


def counts_from_1904(archive: zipfile.ZipFile) -> bool:
    """Whether a workbook counts its days from 1904, as some systems once did."""
    if "xl/workbook.xml" not in archive.namelist():
        return False
    text = _small(archive, "xl/workbook.xml")
    return any(mark in text for mark in (b'date1904="1"', b'date1904="true"', b"date1904='1'"))


def members(archive: zipfile.ZipFile) -> dict[str, bytes]:
    """The files in a ZIP by name, without folders and what systems add.

    Raises InvalidInput for more than can be looked at.
    """
    infos = [
        info
        for info in archive.infolist()
        # Not is_dir(): it fails for an entry without a name.
        if not info.filename.endswith("/")
        and info.file_size
        and not any(one in info.filename for one in _CLUTTER)
    ]
    if len(infos) > MAX_MEMBERS:
        raise _too_many(len(infos), MAX_MEMBERS)
    found: dict[str, bytes] = {}
    left = _ALL_MEMBERS_BYTES
    for info in infos:
        data = _unpacked(archive, info, min(left, _MEMBER_BYTES))
        left -= len(data)
        found[info.filename] = data
    return found


def _too_many(count: int, most: int) -> InvalidInput:
    return InvalidInput.saying(
        say(
            "This ZIP holds {count:,} files; Fadeline looks at {most:,} at most. Pack the one with "
            "the readings alone.",
            count=count,
            most=most,
        ),
        "file",
    )


def _small(archive: zipfile.ZipFile, name: str) -> bytes:
    """The first bytes of an entry that should be short; nothing where there is none."""
    try:
        with archive.open(name) as entry:
            return entry.read(_PIECE)
    except (KeyError, *_BROKEN):
        return b""


def _unpacked(archive: zipfile.ZipFile, info: zipfile.ZipInfo, most: int) -> bytes:
    """One entry, no further than it may go: what its directory says of its size may be untrue."""
    if info.file_size > most:
        raise too_much()
    if info.compress_type not in _PLAIN:
        raise damaged()
    pieces, size = [], 0
    try:
        with archive.open(info) as entry:
            while piece := entry.read(_PIECE):
                size += len(piece)
                if size > most:
                    raise too_much()
                pieces.append(piece)
    except _BROKEN:
        raise damaged() from None
    return b"".join(pieces)


def gunzipped(data: bytes) -> bytes:
    """What a gzip file holds, no further than a file may go. Raises InvalidInput.

    Of a log that was cut off while it was packed, what there is of it is read.
    """
    pieces, size = [], 0
    try:
        for piece in _unzipped(data):
            size += len(piece)
            if size > _MEMBER_BYTES:
                raise too_much()
            pieces.append(piece)
    except zlib.error:
        raise damaged() from None
    return b"".join(pieces)


def _unzipped(data: bytes) -> Iterator[bytes]:
    """The parts of a gzip file in pieces. It is fed by little, as each part copies what is left."""
    at, parts = 0, 0
    while data[at : at + 2] == b"\x1f\x8b":
        parts += 1
        if parts > _MAX_PARTS:
            raise too_much()
        stream = zlib.decompressobj(wbits=31)
        while not stream.eof and at < len(data):
            fed = data[at : at + _FED]
            at += len(fed)
            while fed and not stream.eof:
                yield stream.decompress(fed, _PIECE)
                fed = stream.unconsumed_tail
        at -= len(stream.unused_data)


def inner_kind(data: bytes) -> FileKind | None:
    """What a file inside a ZIP is; None for what holds no table, and for a ZIP in a ZIP."""
    try:
        kind = kind_of(data)
        if kind is FileKind.ZIP:
            kind = kind_of_zip(directory(data))
    except InvalidInput:
        return None
    return kind if kind in (FileKind.TEXT, FileKind.WORKBOOK) else None
