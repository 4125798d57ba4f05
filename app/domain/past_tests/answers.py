"""What a table of past tests leaves open, and what its owner answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.past_tests.columns import PastColumn
from app.domain.units.column import DayOrder

MIDDLE = "middle"
KEEP, ONCE = "keep", "once"
POINTS = THOUSANDS, DECIMALS = "thousands", "decimals"
_POINTS = {
    THOUSANDS: N_("the point stands between thousands"),
    DECIMALS: N_("the point stands for decimals"),
}
_TWICE = {KEEP: N_("they are tests of their own"), ONCE: N_("they are one test")}


@dataclass(frozen=True)
class Answers:
    """The owner's answers; what is empty is found from the table, or asked.

    words tells what words of the table mean, by their word_field.
    """

    uses: tuple[PastColumn, ...] | None = None
    day_order: DayOrder | None = None
    months: str = ""
    twice: str = ""
    points: str = ""
    battery: str | None = None
    mean_voltage_v: float | None = None
    words: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Choice:
    """One answer: what a form sends, and what it says."""

    value: str
    label: str


@dataclass(frozen=True)
class Question:
    """Asked once for the whole table. Without choices a number is the answer."""

    name: str
    words: str
    choices: tuple[Choice, ...] = ()


def day_order_question(cell: str) -> Question:
    """Whether dates begin with the day or with the month."""
    words = say("No row shows whether “{date}” begins with the day or with the month.", date=cell)
    return Question("day_order", words, tuple(Choice(o.value, o.words) for o in DayOrder))


def months_question(line: int, cell: str, short: date | None = None) -> Question:
    """Whether the middle of a month may stand for a day that nobody wrote down.

    short is the month, where its year was written with two digits.
    """
    words = say(
        "line {number}: “{date}” names no day. Write a day into the table, or take the middle of "
        "the month.",
        number=line,
        date=cell if short is None else say("{cell} = {month:%B %Y}", cell=cell, month=short),
    )
    return Question(
        "months", words, (Choice(MIDDLE, say("take the 15th of such a month, and note it")),)
    )


def twice_question(first: int, second: int, day: str, amount: str) -> Question:
    """Whether rows with the same day and the same result are one test."""
    words = say(
        "lines {first} and {second} both hold {amount} on {day}.",
        first=first,
        second=second,
        amount=amount,
        day=day,
    )
    return Question("twice", words, tuple(Choice(v, say(text)) for v, text in _TWICE.items()))


def points_question(line: int, cell: str, whole: float, point: float) -> Question:
    """What points mean in a column in which other amounts have a decimal comma."""
    words = say(
        "line {number}: “{cell}” could be {whole:.0f} or {point:.3f}, because other amounts in the "
        "column have a decimal comma.",
        number=line,
        cell=cell,
        whole=whole,
        point=point,
    )
    return Question("points", words, tuple(Choice(v, say(text)) for v, text in _POINTS.items()))


def battery_question(names: list[str]) -> Question:
    """Which of the batteries of the table is meant."""
    words = say("The table holds tests of {count} batteries.", count=len(names))
    return Question("battery", words, tuple(Choice(name, name) for name in names))


def mean_voltage_question() -> Question:
    """The voltage that turns watt-hours into amp-hours."""
    return Question(
        "mean_voltage_v",
        say(
            "To turn watt-hours into amp-hours, Fadeline needs the mean voltage of the tests; no "
            "column has it."
        ),
    )


def word_question(role: PastColumn, word: str, choices: tuple[Choice, ...]) -> Question:
    """What a word of the owner's own means."""
    words = say("{column}: what does “{word}” mean?", column=role.label, word=word)
    return Question(word_field(role, word), words, choices)


def word_field(role: PastColumn, word: str) -> str:
    """The name of the question what a word of that column means."""
    key = f"{role.value}:{word.casefold()}"
    return f"word_{sha256(key.encode()).hexdigest()[:12]}"
