"""What a file is, by its first bytes; one without a table is refused with what to do instead."""

from dataclasses import dataclass
from enum import Enum, auto

from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say


class FileKind(Enum):
    """What can be opened."""

    TEXT = auto()
    WORKBOOK = auto()
    GZIP = auto()
    ZIP = auto()


@dataclass(frozen=True)
class _Other:
    """What cannot be opened: how it is called, and what is needed instead."""

    called: str
    needed: str


# So many first bytes tell whether a file is packed.
START_BYTES = 8
# So many first bytes tell whether a file is packed.
START_BYTES = 8
ZIP_START = b"PK\x03\x04"
_EMPTY_ZIP = b"PK\x05\x06"
GZIP_START = b"\x1f\x8b"
COMPOUND_START = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_PICTURE = _Other(
    N_("a picture, not text"),
    N_(
        "the readings as text or as a workbook; type the ones that can be read in the picture, and "
        "add the picture to the test once it is stored"
    ),
)
_DATABASE = _Other(
    N_("a database file, not text"),
    N_("the table with the readings: export it as CSV from the program that keeps the file"),
)
_PACKED = _Other(
    N_("a packed file of a kind that is not opened here"),
    N_("the table itself: unpack the file and choose what is inside, or pack it as ZIP"),
)
_DATA = _Other(
    N_("a data file of a programming tool, not text"),
    N_("the readings as CSV or as a workbook: export them from that tool"),
)
PDF = _Other(
    N_("a PDF, not text"),
    N_(
        "the table itself: select it in the PDF, copy it and paste it as columns, or ask the "
        "device for CSV"
    ),
)
DOCUMENT = _Other(
    N_("a document of a word processor"),
    N_("the table alone: copy it out of the document and paste it as columns"),
)
SLIDES = _Other(
    N_("slides of a presentation"),
    N_("the table alone: copy it out of the slides and paste it as columns"),
)
OTHER_SPREADSHEET = _Other(
    N_("a spreadsheet of a kind that cannot be read"),
    N_("an .xlsx, .ods or CSV file: export one from the program that made it"),
)
OWN_ARCHIVE = _Other(
    N_("an archive of Fadeline with whole records"),
    N_("the readings of one test; bring the archive in on the page “Records”"),
)
OWN_PAGE = _Other(
    N_("a battery that Fadeline wrote into a file to be sent"),
    N_("the readings of one test; this file is brought in on the page “Records”"),
)
_STARTS = (
    (b"\x89PNG\r\n", _PICTURE),
    (b"\xff\xd8\xff", _PICTURE),
    (b"GIF8", _PICTURE),
    (b"II*\0", _PICTURE),
    (b"MM\0*", _PICTURE),
    (b"%PDF", PDF),
    (b"{\\rtf", DOCUMENT),
    (b"SQLite format 3\0", _DATABASE),
    (b"\0\1\0\0Standard ", _DATABASE),
    (b"PAR1", _DATA),
    (b"\x89HDF\r\n", _DATA),
    (b"MATLAB 5.0", _DATA),
    (b"\x93NUMPY", _DATA),
    (b"7z\xbc\xaf\x27\x1c", _PACKED),
    (b"Rar!\x1a\x07", _PACKED),
    (b"\xfd7zXZ\0", _PACKED),
    (b"BZh", _PACKED),
    (b"\x28\xb5\x2f\xfd", _PACKED),
)
# Names of streams in the older kind of office file, as they stand in its directory.
_OLD_DOCUMENT, _OLD_SLIDES, _SEALED, _OLD_BOOK, _OLDER_BOOK = (
    name.encode("utf-16-le")
    for name in ("WordDocument", "PowerPoint Document", "EncryptedPackage", "Workbook", "Book\0")
)


def is_packed(start: bytes) -> bool:
    """Whether the first bytes are of a file whose length does not tell what is in it."""
    return start.startswith((ZIP_START, GZIP_START, COMPOUND_START))


def refused(other: _Other) -> InvalidInput:
    """The refusal of a file that holds no table: what it is, what is needed, what to do."""
    return InvalidInput.because(say("file"), say(other.called), say(other.needed), "file")


def with_password() -> InvalidInput:
    """The refusal of what only its owner can open."""
    allowed = say(
        "one without a password: take it off where the file was made, then choose the file again"
    )
    return InvalidInput.because(say("file"), say("a file with a password"), allowed, "file")


def damaged() -> InvalidInput:
    """The refusal of a file of which a part is missing or wrong."""
    return InvalidInput.because(
        say("file"),
        say("a file that is not text, and damaged or only a part of one"),
        say("the whole file: copy or send it once more from where it was made"),
        "file",
    )


def too_much() -> InvalidInput:
    """The refusal of what unpacks to more than can be read."""
    return InvalidInput.because(
        say("file"),
        say("a file that unpacks to more than can be read"),
        say(
            "at most a million rows with up to {columns} columns; delete the sheets and columns "
            "that are not needed",
            columns=20,
        ),
        "file",
    )


def kind_of(data: bytes) -> FileKind:
    """What a file is. Raises InvalidInput for what holds no table."""
    if data.startswith((ZIP_START, _EMPTY_ZIP)):
        return FileKind.ZIP
    if data.startswith(GZIP_START):
        return FileKind.GZIP
    if data.startswith(COMPOUND_START):
        return _compound_kind(data)
    if _is_picture_of_riff(data) or data[4:12] in (
        b"ftypheic",
        b"ftypheix",
        b"ftypmif1",
        b"ftypavif",
    ):
        raise refused(_PICTURE)
    for start, other in _STARTS:
        if data.startswith(start):
            raise refused(other)
    if data.startswith(b"BM") and b"\0" in data[2:20]:
        raise refused(_PICTURE)
    if data[257:262] == b"ustar":
        raise refused(_PACKED)
    if b"data-fadeline-file" in data[:4_000]:
        raise refused(OWN_PAGE)
    if b"urn:schemas-microsoft-com:office:spreadsheet" in data[:4_000] or (
        b"<office:document " in data[:4_000]
    ):
        raise refused(OTHER_SPREADSHEET)
    return FileKind.TEXT


def _is_picture_of_riff(data: bytes) -> bool:
    return data.startswith(b"RIFF") and data[8:12] == b"WEBP"


def _compound_kind(data: bytes) -> FileKind:
    """The older kind of office file, which new ones with a password are wrapped in."""
    if _SEALED in data:
        raise with_password()
    if _OLD_BOOK in data or _OLDER_BOOK in data:
        return FileKind.WORKBOOK
    for name, other in ((_OLD_SLIDES, SLIDES), (_OLD_DOCUMENT, DOCUMENT)):
        if name in data:
            raise refused(other)
    raise damaged()
