"""What a file is, by its first bytes; one without a table is refused with what to do instead."""

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


# So many first bytes tell whether a file is packed.
START_BYTES = 8
ZIP_START = b"PK\x03\x04"
_EMPTY_ZIP = b"PK\x05\x06"
GZIP_START = b"\x1f\x8b"
COMPOUND_START = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_PICTURE = N_(
    "This is a picture. Fadeline reads text such as CSV, or a workbook: type the readings that you "
    "can see in it, and add the picture to the test once it is stored."
)
_DATABASE = N_(
    "This is a database. Fadeline reads text such as CSV, or a workbook: export the table with the "
    "readings as CSV from the program that keeps the file."
)
_PACKED = N_(
    "This is a packed file of a kind that Fadeline does not open: unpack the file and choose what "
    "is inside, or pack it as ZIP."
)
_DATA = N_(
    "This is a data file of a programming tool. Fadeline reads text such as CSV, or a workbook: "
    "export the readings from that tool."
)
PDF = N_(
    "This is a PDF. Fadeline reads text such as CSV, or a workbook: select the table in the PDF, "
    "copy it and paste it as columns, or ask the device for CSV."
)
DOCUMENT = N_(
    "This is a document of a word processor. Fadeline reads text such as CSV, or a workbook: copy "
    "the table out of the document and paste it as columns."
)
SLIDES = N_(
    "This is a presentation. Fadeline reads text such as CSV, or a workbook: copy the table out of "
    "the slides and paste it as columns."
)
OTHER_SPREADSHEET = N_(
    "This is a spreadsheet of a kind that Fadeline does not open: export an .xlsx, .ods or CSV "
    "file from the program that made it."
)
OWN_ARCHIVE = N_(
    "This is an archive of Fadeline with whole records. Here goes the file with the readings of "
    "one test; bring the archive in on the page “Records”."
)
OWN_PAGE = N_(
    "This is a battery that Fadeline wrote into a file to be sent. Here goes the file with the "
    "readings of one test; bring this one in on the page “Records”."
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
_BOMS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    # Before those of UTF-16, one of which it begins with; no text goes on with a zero there.
    (b"\xff\xfe\0\0", "utf-32"),
    (b"\0\0\xfe\xff", "utf-32"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
# Names of streams in the older kind of office file, as they stand in its directory.
_OLD_DOCUMENT, _OLD_SLIDES, _SEALED, _OLD_BOOK, _OLDER_BOOK = (
    name.encode("utf-16-le")
    for name in ("WordDocument", "PowerPoint Document", "EncryptedPackage", "Workbook", "Book\0")
)


def is_packed(start: bytes) -> bool:
    """Whether the first bytes are of a file whose length does not tell what is in it."""
    return start.startswith((ZIP_START, GZIP_START, COMPOUND_START))


def encoding_by_mark(data: bytes) -> str:
    """The encoding that the first bytes name; empty where they name none."""
    return next((name for mark, name in _BOMS if data.startswith(mark)), "")


def refused(sentence: str) -> InvalidInput:
    """The refusal of a file that holds no table: what it is, and what to do instead."""
    return InvalidInput.saying(say(sentence), "file")


def with_password() -> InvalidInput:
    """The refusal of what only its owner can open."""
    return InvalidInput.saying(
        say(
            "This file has a password. Take the password off where the file was made, then choose "
            "the file again."
        ),
        "file",
    )


def damaged() -> InvalidInput:
    """The refusal of a file of which a part is missing or wrong."""
    return InvalidInput.saying(
        say(
            "This file is damaged or incomplete. Copy or send the whole file again from where it "
            "was made."
        ),
        "file",
    )


def too_much() -> InvalidInput:
    """The refusal of what unpacks to more than can be read."""
    return InvalidInput.saying(
        say(
            "This file unpacks to more than Fadeline can read: at most a million rows with up to "
            "{columns} columns. Delete the sheets and columns that are not needed.",
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
