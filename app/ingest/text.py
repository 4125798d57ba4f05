"""From bytes to text: what a file is written in, or why it is no text at all."""

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.ingest.containers.file_kind import encoding_by_mark


def decode(data: bytes) -> tuple[str, str]:
    """Decode a file; returns the text and the name of its encoding.

    UTF-8 with or without mark, UTF-16 with or without mark, UTF-32 with mark, else Windows-1252
    (a superset of Latin-1 for print). Raises InvalidInput for an empty file, a file above the limit
    and for content that is no text.
    """
    check_length(data)
    if not data.strip(b"\0 \r\n\t"):
        raise InvalidInput.saying(
            say("This is an empty file. Choose one with the readings, line by line."), "file"
        )
    encoding = _encoding(data)
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError:
        encoding = "cp1252"
        text = data.decode(encoding, errors="replace")
    if _looks_binary(text):
        raise InvalidInput.saying(
            say(
                "This is not text. Fadeline reads text such as CSV, or a workbook: export the "
                "readings as CSV from where they were made."
            ),
            "file",
        )
    return text, encoding


def check_length(data: bytes) -> None:
    """Refuse a file above the limit."""
    if len(data) > UPLOAD_LIMIT_MB * 1_000_000:
        raise too_large(len(data))


def too_large(size: int) -> InvalidInput:
    """The refusal of a file above the limit."""
    return InvalidInput.saying(
        say(
            "This file has {size:.0f} MB; Fadeline reads at most {most} MB. Export fewer columns "
            "or a shorter time, or take a reading only every few seconds.",
            size=size / 1_000_000,
            most=UPLOAD_LIMIT_MB,
        ),
        "file",
    )


def _encoding(data: bytes) -> str:
    if named := encoding_by_mark(data):
        return named
    head = data[:2000]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    # ASCII in UTF-16 has a zero in every second byte.
    if odd > len(head) / 4 and even == 0:
        return "utf-16-le"
    if even > len(head) / 4 and odd == 0:
        return "utf-16-be"
    return "utf-8"


def _looks_binary(text: str) -> bool:
    head = text[:4000]
    odd = sum(1 for character in head if character < " " and character not in "\t\r\n\f\x1a")
    odd += head.count("\ufffd")
    return "\0" in text or odd > len(head) / 50
