"""What was said once and stored, said again to whoever reads it now.

What was assumed of a file is kept with its test in English, whatever the language of who stored it.
"""

import re
from collections.abc import Iterable
from datetime import date, datetime, timedelta, timezone
from functools import cache
from string import Formatter

from app.domain.i18n.message import Celsius, month_names, say
from app.domain.units.column import ColumnUse
from app.languages.kept_sentences import KEPT, PARTS

_NUMBER = re.compile(r"([-−]?\d[\d,]*(?:\.\d+)?)( °C)?")
_DAY = re.compile(r"(\d{1,2}) ([A-Z][a-z]{2}) (\d{4})(?:, (\d\d):(\d\d))?")
_OFFSET = re.compile(r"([+-])(\d\d)(\d\d)")
# These stood in the file, and are nobody's words to translate.
_AS_WRITTEN = ("channel", "encoding", "lines", "name")


def said_again(sentence: str) -> str:
    """A stored sentence for its reader; one that is not known stays as it was stored."""
    return _again(sentence, KEPT) or sentence


def _again(sentence: str, texts: Iterable[str]) -> str | None:
    for text in texts:
        found = _pattern(text).fullmatch(sentence)
        if found is None:
            continue
        places = found.groupdict()
        try:
            again = say(text, **_values(places))
            # A place that was not told apart rightly would not give the same once more.
            return again if again == sentence else None
        except ValueError:
            return None
    return None


@cache
def _pattern(text: str) -> re.Pattern[str]:
    """What finds the places of a text in a sentence that was made of it."""
    parts = []
    for plain, place, _, _ in Formatter().parse(text):
        parts.append(re.escape(plain))
        if place is not None:
            parts.append(f"(?P<{place}>.+)")
    return re.compile("".join(parts))


@cache
def _parts() -> tuple[str, ...]:
    """Texts that may stand in a place."""
    return (*PARTS, *(use.label for use in ColumnUse))


def _values(places: dict[str, str]) -> dict[str, object]:
    return {
        name: written if name in _AS_WRITTEN else _value(written)
        for name, written in places.items()
    }


def _value(written: str) -> object:
    """What stands in a place: a number, a temperature, a day, words of ours, or a name."""
    if found := _NUMBER.fullmatch(written):
        digits = found[1].replace("−", "-").replace(",", "")
        if found[2]:
            return Celsius(digits)
        return float(digits) if "." in digits else int(digits)
    if found := _DAY.fullmatch(written):
        return _day(*found.groups())
    if found := _OFFSET.fullmatch(written):
        offset = timedelta(hours=int(found[2]), minutes=int(found[3]))
        zone = timezone(-offset if found[1] == "-" else offset)
        # Only its zone is said.
        return datetime(2000, 1, 1, tzinfo=zone)
    return _again(written, _parts()) or written


def _day(day: str, month: str, year: str, hour: str | None, minute: str | None) -> object:
    number = month_names(short=True).index(month) + 1
    if hour is None or minute is None:
        return date(int(year), number, int(day))
    return datetime(int(year), number, int(day), int(hour), int(minute))
