"""What templates do to a value before it is shown: numbers, days and moments as messages."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from app.analysis.evidence.verdict import likelihood
from app.analysis.test_day.running import RunProgress
from app.domain.i18n.marks import N_, N_plural
from app.domain.i18n.message import (
    joined,
    say,
    say_plural,
    transformed,
    written_celsius,
    written_day,
    written_digits,
    written_number,
)


def number(value: float | None, digits: int = 1) -> str:
    """A number for a page; a dash where there is none."""
    return "–" if value is None else written_number(value, f".{digits}f")


def temperature(celsius: float | None, digits: int = 1) -> str:
    """A temperature with its unit; °C stays beside °F, as it is stored."""
    return "–" if celsius is None else written_celsius(celsius, f".{digits}f")


def formatted(pattern: str, *values: object) -> str:
    """The filter “format” for numbers, with the reader's decimal sign."""
    return written_digits(pattern % values) if _decimals(values) else pattern % values


def _decimals(values: tuple[object, ...]) -> bool:
    return all(isinstance(value, float) for value in values)


def percent(share: float | None, digits: int = 0) -> str:
    """A fraction as a percentage."""
    return "–" if share is None else joined(" ", (number(100 * share, digits), "%"))


def day(value: date | datetime | None) -> str:
    return "–" if value is None else written_day(value)


def likely(chance: float | None) -> str:
    """A chance in words that never say certain."""
    return say("not known") if chance is None else likelihood(chance)


def moment(value: datetime | None, after: datetime | None = None) -> str:
    """A day and a time of day; on the day of `after`, which the reader just saw, the time alone."""
    if value is None:
        return "–"
    if after is not None and after.date() == value.date():
        return f"{value:%H:%M}"
    return say("{moment}", moment=value)


def started_when(progress: RunProgress) -> str:
    """When a running test began: the time of day, on another day with its date."""
    begun = progress.started_at
    return moment(begun, progress.as_of.astimezone(begun.tzinfo))


def span(hours: float | None) -> str:
    """Hours as h and min; a dash where nobody noted them."""
    if hours is None:
        return "–"
    minutes = round(hours * 60)
    return f"{minutes // 60} h {minutes % 60:02d} min"


# By the word in which a template asks: days, hours, less.
_AGES = {
    "old": (
        N_plural("1 day old", "{count} days old"),
        N_plural("1 hour old", "{count} hours old"),
        N_("less than an hour old"),
    ),
    "ago": (
        N_plural("1 day ago", "{count} days ago"),
        N_plural("1 hour ago", "{count} hours ago"),
        N_("less than an hour ago"),
    ),
}


def age(value: timedelta, word: str = "old") -> str:
    """A time that has passed, in its largest whole unit; word is old or ago."""
    if value < timedelta(minutes=-5):
        return say("dated ahead of this clock")
    days, hours, less = _AGES[word]
    for size, (one, many) in ((timedelta(days=1), days), (timedelta(hours=1), hours)):
        count = value // size
        if count >= 1:
            return say_plural(one, many, count)
    return say(less)


def megabytes(size: int) -> str:
    return joined(" ", (number(size / 1e6), "MB"))


def capital(words: str) -> str:
    """Words as the beginning of a sentence."""
    return transformed(words, lambda said: f"{said[:1].upper()}{said[1:]}")


def inside(words: str) -> str:
    """Words that begin a sentence of their own, as the rest of another one."""
    return transformed(words, lambda said: f"{said[:1].lower()}{said[1:]}")


def unbroken(words: str) -> str:
    """Words whose intervals keep their ends on one line."""
    return words.replace("–", "–\N{WORD JOINER}")


def thousands(count: int) -> str:
    return written_number(count, ",")


def options(choices: Iterable[Any]) -> list[tuple[str, str]]:
    """Pairs of value and label for a select, from the members of an enumeration."""
    return [(one.value, say(one.label)) for one in choices]
