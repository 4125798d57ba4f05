"""The directory of a ZIP file, looked at before anything of it is believed."""

import re
import stat
import struct
import zipfile
from collections.abc import Sequence
from typing import IO

from app.archive.limits import (
    MAX_DIRECTORY_BYTES,
    MAX_ENTRIES,
    MAX_UNPACKED_BYTES,
    most_bytes,
)
from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say

# End of central directory record: APPNOTE.TXT of the ZIP format, 4.3.16.
_END = struct.Struct("<4s4H2LH")
_END_MARK = b"PK\x05\x06"
_MAX_COMMENT_BYTES = 65_535
_START_MARK = b"PK\x03\x04"
# Everything that this program writes; nothing else is ever read.
_NAMES = re.compile(
    r"datapackage\.json|README\.txt|(readings|replaced)/schema\.json|tables/[a-z_]+\.csv"
    r"|readings/([0-9]{4,5}|[0-9a-f]{32})\.csv|replaced/[0-9a-f]{64}\.csv"
    r"|originals/[0-9a-f]{64}|photos/[0-9a-f]{64}\.jpg"
)
_FOLDERS = {"tables/", "readings/", "replaced/", "originals/", "photos/"}
_PLAIN = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_ENCRYPTED = 0x1
# Below so many bytes a limit is said in kB.
_SMALL = 10_000_000
FILE = N_("archive")


def check_end(file: IO[bytes]) -> None:
    """Refuse what is no whole ZIP file, and a directory too long to be read."""
    size = file.seek(0, 2)
    file.seek(0)
    if file.read(4) != _START_MARK:
        found = say("a file that is not a ZIP file")
        raise InvalidInput.because(say(FILE), found, say("a ZIP from fadeline export"))
    file.seek(max(0, size - _MAX_COMMENT_BYTES - _END.size))
    tail = file.read()
    at = tail.rfind(_END_MARK)
    if at < 0 or len(tail) - at < _END.size:
        found = say("an incomplete ZIP file (its end is missing)")
        raise InvalidInput.because(say(FILE), found, say("the whole file"))
    entries, directory_bytes = _END.unpack_from(tail, at)[4:6]
    if entries > MAX_ENTRIES or directory_bytes > MAX_DIRECTORY_BYTES:
        few = entries <= MAX_ENTRIES
        raise _too_many(say("{count:,} entries", count=entries) if few else say("more"))


def checked_entries(
    infos: Sequence[zipfile.ZipInfo], most: int = MAX_ENTRIES
) -> dict[str, zipfile.ZipInfo]:
    """The entries by name. Raises InvalidInput for names, kinds and sizes that no export has."""
    if len(infos) > most:
        raise _too_many(say("{count:,} entries", count=len(infos)), most)
    found: dict[str, zipfile.ZipInfo] = {}
    for info in infos:
        # The name as written: the library cuts it at a NUL and turns backslashes on Windows.
        name = info.orig_filename
        _check_kind(info, name)
        if name in _FOLDERS and not info.file_size:
            continue
        if not _NAMES.fullmatch(name):
            allowed = say("names such as tables/battery.csv")
            raise InvalidInput.because(say("archive, entry"), name, allowed)
        if name in found:
            twice = say("{name} twice", name=name)
            raise InvalidInput.because(say("archive, entry"), twice, say("each entry once"))
        allowed_bytes = most_bytes(name, len(infos))
        if info.file_size > allowed_bytes:
            raise too_long(name, info.file_size, allowed_bytes)
        found[name] = info
    total = sum(info.file_size for info in found.values())
    if total > MAX_UNPACKED_BYTES:
        raise too_long(say(FILE), total, MAX_UNPACKED_BYTES)
    return found


def too_long(name: str, size: int, most: int) -> InvalidInput:
    """The refusal of what unpacks to more than it may."""
    if most < _SMALL:
        allowed = say("at most {most:,.0f} kB", most=most / 1e3)
        found = say("{size:,.0f} kB", size=size / 1e3)
    else:
        allowed = say("at most {most:,.0f} MB", most=most / 1e6)
        found = say("{size:,.0f} MB", size=size / 1e6)
    return InvalidInput.because(say("{entry}, unpacked", entry=name), found, allowed)


def _check_kind(info: zipfile.ZipInfo, name: str) -> None:
    kind = stat.S_IFMT(info.external_attr >> 16)
    where = say("archive, entry {name}", name=name)
    if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
        found = say("a link") if kind == stat.S_IFLNK else say("no file")
        raise InvalidInput.because(where, found, say("plain files only"))
    if info.flag_bits & _ENCRYPTED:
        raise InvalidInput.because(where, say("an encrypted file"), say("plain files only"))
    if info.compress_type not in _PLAIN:
        found = say("packing method {number}", number=info.compress_type)
        raise InvalidInput.because(where, found, say("stored or deflated"))


def _too_many(found: str, most: int = MAX_ENTRIES) -> InvalidInput:
    return InvalidInput.because(say(FILE), found, say("at most {most:,} entries", most=most))
