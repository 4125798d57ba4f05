"""Dates and times as people and loggers write them, brought to the few shapes that are read."""

import re
import unicodedata
from functools import lru_cache

_CLOCK = r"\d{1,2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?"
# What needs no work, which is nearly every cell of a long log.
_READ_AS_IT_IS = re.compile(
    rf"\d{{1,4}}:\d{{2}}(?::\d{{2}}(?:\.\d+)?)?"
    r"|\d{4}-\d{2}-\d{2}[ T]\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?"
    r"(?:Z|[+-]\d{2}:?\d{2})?"
    rf"|\d{{1,2}}([./\-])\d{{1,2}}\1(?:\d{{4}}|\d{{2}}) +{_CLOCK}"
    r"|[+\-]?\d{0,13}(?:[.,]\d*)?"
)
# The first three letters of a month's name, without accents, in the languages of headings.
_MONTHS = (
    ("jan", "ene", "gen", "sty"),
    ("feb", "fev", "lut"),
    ("mar", "mrz", "mrt", "maa"),
    ("apr", "abr", "avr", "kwi"),
    ("may", "mai", "maj", "mag", "mei"),
    ("jun", "giu", "cze", "juin"),
    ("jul", "lug", "lip", "juil"),
    ("aug", "ago", "aou", "sie"),
    ("sep", "set", "wrz"),
    ("oct", "okt", "ott", "out", "paz"),
    ("nov", "lis"),
    ("dec", "dez", "dic", "gru"),
)
_MONTH_OF = {name: number for number, names in enumerate(_MONTHS, start=1) for name in names}
# No date is longer than this; a search in a longer text could last.
_LONGEST = 48
_WORD = r"([^\W\d_]{3,})\.?"
_DAY_FIRST = re.compile(
    rf"(\d{{1,2}})(?:st|nd|rd|th)?\.?[\s/\-]*(?:de )?{_WORD}"
    r"[\s/,\-]*(?:de )?(\d{4}(?!\d)|\d{2}(?!\d|:))"
)
_MONTH_FIRST = re.compile(rf"{_WORD}[\s\-]*(\d{{1,2}})(?:st|nd|rd|th)?,?[\s\-]+(\d{{4}})(?!\d)")
_MONTH_INSIDE = re.compile(rf"(\d{{4}})[\s\-/]{_WORD}[\s\-/](\d{{1,2}})(?!\d)")
_YEAR_LAST = re.compile(rf"{_WORD} (\d{{1,2}}) ({_CLOCK}) (\d{{4}})")
_YEAR_FIRST = re.compile(r"(\d{4})([/.\-])(\d{1,2})\2(\d{1,2})(?!\d)")
_WITHOUT_MARKS = re.compile(
    r"((?:19|20)\d{2})(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])(?:[T _\-]?([01]\d|2[0-3])([0-5]\d)"
    r"([0-5]\d)?([.,]\d+)?)?(?=$|Z|[+\-]\d{2}|[ T]\d{1,2}:)"
)
_WEEKDAY = re.compile(r"[^\W\d_]{2,10}\.?,?\s+(?=\d|[^\W\d_]{3})")
_DATE_BEFORE = re.compile(
    r"(\d{4}-\d{2}-\d{2}|\d{1,2}([./\-])\d{1,2}\2(?:\d{4}|\d{2}))[\sT,_:\-]+(?=\d)"
)
_POINTED = re.compile(r"(?<=[ T])(\d{1,2})\.(\d{2})(?:\.(\d{2}))?$")
_HALF = re.compile(r"(\d{1,2})(:\d{2}(?::\d{2}(?:\.\d+)?)?)\s*([ap])\.?\s?m\.?$", re.IGNORECASE)
_FRACTION = re.compile(r"(:\d{2}:\d{2})(?:[.,]|:(?=\d{3}$))(\d+)")
_LETTER_SPAN = re.compile(
    r"(\d{1,4})\s*h\s*(\d{2})\s*(?:m|min|mn|')?\s*(?:(\d{2})\s*(?:s|sec|'')?)?", re.IGNORECASE
)
_DAYS = re.compile(
    r"(\d{1,3})(?:\.(?=\d{2}:)|\s*(?:d|days?|tage?|j|jours?|dias?|giorn[oi]|dagen|dag|dni)?[,\s]+)"
    r"(\d{1,2})(:\d{2}:\d{2}(?:\.\d+)?)",
    re.IGNORECASE,
)
_DIGITS = re.compile(r"([01]\d|2[0-3])([0-5]\d)([0-5]\d)")
_ZONES = {
    **dict.fromkeys(("utc", "gmt", "z"), "Z"),
    **dict.fromkeys(("cet", "mez"), "+01:00"),
    **dict.fromkeys(("cest", "mesz"), "+02:00"),
}
_ZONE = re.compile(r"(?<=\d)\s*(utc|gmt|z|cest|cet|mesz|mez)$", re.IGNORECASE)
_OFFSET = re.compile(r"(?<=\d)\s+(?=[+\-]\d{2}:?\d{2}$)")


@lru_cache(maxsize=4096)
def canonical(cell: str) -> str:
    """A date, a time or both in a shape that is read; the cell as it is where it is none.

    The order of day and month in figures is left as it stands.
    """
    if len(cell) > _LONGEST or _READ_AS_IT_IS.fullmatch(cell):
        return cell
    text = " ".join(cell.split())
    text = re.sub(r"(?<=\d)\s+(?:Uhr|Hrs?\.?)$", "", text, flags=re.IGNORECASE)
    text = _OFFSET.sub("", _ZONE.sub(lambda found: _ZONES[found[1].casefold()], text))
    if span := _LETTER_SPAN.fullmatch(text):
        hours, minutes, seconds = span.groups()
        return f"{hours}:{minutes}" + (f":{seconds}" if seconds else "")
    text = _FRACTION.sub(lambda found: f"{found[1]}.{found[2][:6]}", text)
    if (days := _DAYS.fullmatch(text)) and int(days[2]) < 24:
        return f"{24 * int(days[1]) + int(days[2])}{days[3]}"
    dated = _dated(text) or _dated(_WEEKDAY.sub("", text, count=1))
    if dated:
        text = _POINTED.sub(_with_colons, _DATE_BEFORE.sub(r"\1 ", dated))
    text = _HALF.sub(_of_24_hours, text)
    plain = re.fullmatch(r"(?:[\d./\-]+ )?\d{1,4}:[\d:.]+(?:Z|[+\-]\d{2}:?\d{2})?", text)
    return text if plain or (dated and re.fullmatch(r"[\d./\-]+", text)) else cell


def clock_of_digits(cell: str) -> str:
    """A time of day of six digits, such as 080000, with colons; else empty."""
    found = _DIGITS.fullmatch(cell)
    return ":".join(found.groups()) if found else ""


def _dated(text: str) -> str:
    """The text with its date in figures, year first where the month was a name; else empty."""
    if last := _YEAR_LAST.search(text):
        word, day, clock, year = last.groups()
        return _iso(year, month_of(word), day, f" {clock}") if month_of(word) else ""
    if found := _WITHOUT_MARKS.match(text):
        year, month, day, hour, minute, second, part = found.groups()
        clock = f" {hour}:{minute}:{second or '00'}{(part or '')[:7]}" if hour else ""
        return _iso(year, int(month), day, clock.replace(",", ".") + text[found.end() :])
    if found := _YEAR_FIRST.match(text):
        return _iso(found[1], int(found[3]), found[4], text[found.end() :])
    for pattern, order in (
        (_MONTH_INSIDE, (0, 1, 2)),
        (_DAY_FIRST, (2, 1, 0)),
        (_MONTH_FIRST, (2, 0, 1)),
    ):
        if found := pattern.match(text):
            year, word, day = (found.groups()[place] for place in order)
            if month := month_of(word):
                return _iso(year, month, day, text[found.end() :])
    return text if _DATE_BEFORE.match(text) else ""


def month_of(word: str) -> int:
    """The number of a month by its name; 0 for any other word."""
    parts = unicodedata.normalize("NFKD", word.casefold())
    bare = "".join(part for part in parts if not unicodedata.combining(part))
    return _MONTH_OF.get(bare[:4], 0) or _MONTH_OF.get(bare[:3], 0)


def _iso(year: str, month: int, day: str, rest: str) -> str:
    full = year if len(year) == 4 else f"20{year}"
    return f"{full}-{month:02d}-{int(day):02d}{_padded(rest)}"


def _padded(rest: str) -> str:
    """The clock behind a date, with an hour of two digits."""
    return re.sub(r"^[\sT,_:\-]+(\d)(?=[:.])", r" 0\1", re.sub(r"^[\sT,_:\-]+(?=\d)", " ", rest))


def _with_colons(found: re.Match[str]) -> str:
    return ":".join(part for part in found.groups() if part)


def _of_24_hours(found: re.Match[str]) -> str:
    hour = int(found[1]) % 12 + (12 if found[3] in "pP" else 0)
    return f"{hour:02d}{found[2]}"
