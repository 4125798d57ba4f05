"""The text of a file to send and the data in it, read without believing anything of it.

Nothing of such a file is ever shown as it is: its text is only compared, piece by piece.
"""

import base64
import binascii
import re
from collections import Counter
from dataclasses import dataclass
from html.parser import HTMLParser

from app.domain.errors import InvalidInput, truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.sent_battery import (
    DATA_ADDRESS,
    FILE_FORMAT,
    FILE_FORMATS,
    TextDifference,
)

FILE = "file"
MAX_BYTES = 3_000_000
_OURS = N_("a battery's file made with Fadeline")
_START, _END = "<!doctype html>", "</html>"
# Compared as it stands, said where it is shown.
_IN_PICTURE = "in the picture: "
_HEADINGS = ("h1", "h2", "h3", "summary")
_DRAWN = ("svg", "path", "circle", "line", "rect", "text")
_NEVER = ("script", "iframe", "object", "embed", "link", "form", "img")
_SHOWN, _BEFORE = 160, 50
# A number as it is written, with its unit; and the date by which a test is headed.
_FIGURE = re.compile(r"[−+]?\d[\d.,:]*(?: ?(?:Ah|Wh|V|A|%|°C|K|h|min)\b)?")
# What the simulations found for published cells is renewed with each method, and follows from no
# file's data.
_OF_PUBLISHED_CELLS = re.compile(r"On \d+ published cells such a line [^.]*\.")
# So are the sources of its corrections, below this heading.
_SOURCES = "What corrections rest on"
_DATED = re.compile(r"\d+ \w+ \d{4}(?:, \d\d:\d\d)?")


@dataclass(frozen=True)
class PageText:
    """What stands in a file: its data as bytes, how much detail it has, its text by heading."""

    format: int
    data: bytes
    detail: str
    pieces: tuple[tuple[str, str], ...]

    @property
    def older(self) -> bool:
        """Whether an earlier version laid it out, and other words and pictures stand in it."""
        return self.format < FILE_FORMAT


def read_page(content: bytes) -> PageText:
    """Take a file apart.

    Raises InvalidInput, in one sentence, for anything that is no whole one.
    """
    if len(content) > MAX_BYTES:
        raise _refused(
            f"{len(content) / 1e6:.0f} MB", say("at most {most:.0f} MB", most=MAX_BYTES / 1e6)
        )
    try:
        text = content.decode()
    except UnicodeDecodeError:
        raise _refused(say("bytes that are not text")) from None
    if not text.lstrip().lower().startswith(_START):
        raise _refused(text[:80])
    reader = _Reader()
    try:
        # The whole text is there: what the reader holds back at the end is no more text.
        reader.feed(text)
    except AssertionError:
        # So the library says of marks that it cannot read.
        raise _refused(say("broken HTML")) from None
    if not reader.format:
        raise _refused(say("another web page"))
    if reader.format not in map(str, FILE_FORMATS):
        newer = reader.format.isdecimal() and reader.format.isascii()
        found = (
            say("{format}, which a newer Fadeline reads", format=reader.format)
            if newer
            else reader.format
        )
        allowed = say("{first} or {last}", first=FILE_FORMATS[0], last=FILE_FORMAT)
        raise InvalidInput.because(say("format of the file"), found, allowed, FILE)
    if not text.rstrip().endswith(_END):
        raise _refused(say("an incomplete file (its end is missing)"), say("the whole file"))
    if reader.foreign:
        allowed = say("only content that Fadeline writes: the file was changed")
        raise _refused(say("a “{element}” in it", element=reader.foreign), allowed)
    data, pieces = _data(reader.addresses), tuple(reader.pieces)
    return PageText(int(reader.format), data, reader.detail, pieces)


def _refused(found: str, allowed: str = "") -> InvalidInput:
    return InvalidInput.because(say("file"), found, allowed or say(_OURS), FILE)


def differences(
    in_file: tuple[tuple[str, str], ...], from_data: tuple[tuple[str, str], ...]
) -> tuple[TextDifference, ...]:
    """What a file says otherwise than its data, heading by heading; the order does not count."""
    said, due = _by_heading(in_file), _by_heading(from_data)
    found = []
    for heading in dict.fromkeys((*due, *said)):
        here, there = said.get(heading, Counter()), due.get(heading, Counter())
        extra, lacking = list((here - there).elements()), list((there - here).elements())
        for number in range(max(len(extra), len(lacking))):
            one = _piece(extra[number]) if number < len(extra) else ""
            other = _piece(lacking[number]) if number < len(lacking) else ""
            found.append(TextDifference(truncate(heading), *_excerpts(one, other)))
    return tuple(found)


def foreign_figures(
    in_file: tuple[tuple[str, str], ...], from_data: tuple[tuple[str, str], ...]
) -> tuple[TextDifference, ...]:
    """The figures of a file that are not among those of its data, test by test: all that can be
    said of a file whose page was another one."""
    said, due = _by_test(in_file), _by_test(from_data)
    found = []
    for dated, figures in said.items():
        extra = figures - due.get(dated, Counter())
        where = dated or say("the battery as a whole")
        found += [TextDifference(where, one, "") for one in extra.elements()]
    return tuple(found)


def _by_test(pieces: tuple[tuple[str, str], ...]) -> dict[str, Counter[str]]:
    """The figures under the date of each test; those of the battery as a whole under nothing."""
    made: dict[str, Counter[str]] = {}
    for heading, text in pieces:
        if heading != _SOURCES and not text.startswith(_IN_PICTURE):
            dated = _DATED.match(heading)
            figures = _FIGURE.findall(_OF_PUBLISHED_CELLS.sub("", text))
            made.setdefault(dated[0] if dated else "", Counter()).update(figures)
    return made


def _piece(text: str) -> str:
    drawn = text.removeprefix(_IN_PICTURE)
    return text if drawn == text else say("in the picture: {drawn}", drawn=drawn)


def _excerpts(one: str, other: str) -> tuple[str, str]:
    """Two texts short enough to be shown, from a little before where they part."""
    shorter = min(len(one), len(other))
    same = next((at for at in range(shorter) if one[at] != other[at]), shorter)
    start = one.rfind(" ", 0, max(0, same - _BEFORE)) + 1 if same > _BEFORE else 0
    mark = "…" if start else ""
    return truncate(mark + one[start:], _SHOWN), truncate(mark + other[start:], _SHOWN)


def _by_heading(pieces: tuple[tuple[str, str], ...]) -> dict[str, Counter[str]]:
    made: dict[str, Counter[str]] = {}
    for heading, text in pieces:
        made.setdefault(heading, Counter())[text] += 1
    return made


def _data(addresses: list[str]) -> bytes:
    if len(addresses) != 1:
        found = say("{count} times data", count=len(addresses)) if addresses else say("no data")
        raise _refused(found, say("the data of one battery in it"))
    try:
        return base64.b64decode(addresses[0].removeprefix(DATA_ADDRESS), validate=True)
    except (binascii.Error, ValueError):
        raise InvalidInput.because(
            say("data in the file"), say("damaged ones"), say("those of a whole file")
        ) from None


class _Reader(HTMLParser):
    """Collects the marks, the data and the text of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.format = ""
        self.detail = ""
        self.addresses: list[str] = []
        self.pieces: list[tuple[str, str]] = []
        self.foreign = ""
        self._part, self._heading = "", ""
        self._waiting: list[str] | None = None
        self._styles, self._pictures = 0, 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "html":
            self.format = (given.get("data-fadeline-file") or "")[:20]
            self.detail = (given.get("data-detail") or "")[:20]
        if tag in _NEVER or any(name.startswith("on") for name in given):
            self.foreign = self.foreign or tag
        address = given.get("href") or ""
        if tag == "a" and address.startswith(DATA_ADDRESS):
            self.addresses.append(address)
        if tag == "style":
            self._styles += 1
        if tag == "svg":
            self._pictures += 1
        if tag in _HEADINGS:
            self._waiting = []
        if tag in _DRAWN:
            places = " ".join(f"{name}={value}" for name, value in attrs)
            self.pieces.append((self._heading, f"{_IN_PICTURE}{tag} {places}"))

    def handle_endtag(self, tag: str) -> None:
        if tag == "style":
            self._styles = 0
        if tag == "svg":
            self._pictures -= 1
        if tag in _HEADINGS and self._waiting is not None:
            # A test is known by its date, which stands before its result.
            words = " ".join(self._waiting).split(": ")[0]
            self._waiting = None
            if tag == "h3":
                self._heading = f"{self._part}, {words}"
            else:
                self._part = self._heading = words

    def handle_comment(self, _data: str) -> None:
        self.foreign = self.foreign or "comment"

    def handle_data(self, data: str) -> None:
        text = " ".join(data.split())
        if not text or self._styles:
            return
        if self._waiting is not None:
            self._waiting.append(text)
        # A heading stands under the one before it, so that a changed one is seen.
        self.pieces.append((self._heading, f"{_IN_PICTURE}{text}" if self._pictures > 0 else text))
