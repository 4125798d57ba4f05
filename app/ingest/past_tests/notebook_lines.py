"""Lines of a notebook without headings: a day, the amp-hours, and a word on how it ended."""

import re
from collections.abc import Sequence

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.message import say
from app.ingest.dialect import Row
from app.ingest.past_tests.amounts import ABOUT, AT_LEAST
from app.ingest.past_tests.days import written_day
from app.ingest.past_tests.words import charge_of, end_of, speaks_of_end

# Aug 2022: 98 Ah, switched off. A comma or semicolon behind the day parts columns already.
_LINE = re.compile(
    r"(?P<day>\S.*?\d)(?:\s*:\s*|\s+[-–]\s+|\s+)"
    rf"(?P<amount>(?:{ABOUT.pattern}|{AT_LEAST.pattern})?\d+(?:[.,]\d+)?\s*Ah)"
    r"(?:\s*[,;:–-]\s*|\s+|$)(?P<rest>.*)",
    re.IGNORECASE,
)
_PERCENT = re.compile(
    rf"(?P<day>\S.*?)(?:\s*:\s*|\s+[-–]\s+|\s+)(?:(?:still|noch|only|nur|{ABOUT.pattern})\s*){{0,3}}"
    r"\d+(?:[.,]\d+)?\s*%.*",
    re.IGNORECASE,
)
# Commas and semicolons part what is told of a test; one before a digit is a decimal comma.
_PARTED = re.compile(r"\s*;\s*|\s*,(?!\d)\s*")
_CHARGED = re.compile(r"full|voll|.*(?:charg|gelad).*", re.IGNORECASE)
_NAMED_AT_ONCE = 5
EXAMPLE = "2024-03-31: 98 Ah"


def no_capacity(written: str) -> InvalidInput:
    """The refusal of a percentage where the amp-hours of a test should be."""
    words = say(
        "“{written}” is a percentage, and that is no capacity: a gauge works it out from a "
        "capacity that someone typed in. Write the amp-hours that the test delivered, for "
        "example: {example}; or leave the line out.",
        written=truncate(written),
        example=EXAMPLE,
    )
    return InvalidInput.saying(words, "file")


def notebook_rows(lines: Sequence[str]) -> list[tuple[int, Row]] | None:
    """Day, amount, end, charge and note of such lines with their numbers.

    None where a single line is another. Raises InvalidInput where among them one has a percentage
    instead of amp-hours.
    """
    rows: list[tuple[int, Row]] = []
    of_gauge = ""
    for number, line in enumerate(lines, start=1):
        text = line.strip()
        if not text:
            continue
        found = _noted(text)
        if found is not None:
            rows.append((number, (found["day"], found["amount"].strip(), *_told(found["rest"]))))
        elif _is_percentage(text):
            of_gauge = of_gauge or text
        else:
            return None
    if rows and of_gauge:
        raise no_capacity(of_gauge)
    return rows or None


def odd_lines(lines: Sequence[str]) -> InvalidInput | None:
    """The refusal of the lines that are others where most are such lines; None where not."""
    filled = [(number, line.strip()) for number, line in enumerate(lines, start=1) if line.strip()]
    odd = [(number, line) for number, line in filled if _noted(line) is None]
    if not odd or 2 * len(odd) >= len(filled):
        return None
    if percentage := next((line for _, line in odd if _is_percentage(line)), None):
        return no_capacity(percentage)
    refused = [
        say(
            "Line {number} is no test: “{written}”. Write each as a day and amp-hours with their "
            "unit, for example: {example}; leave out any other line.",
            number=number,
            written=truncate(line),
            example=EXAMPLE,
        )
        for number, line in odd[:_NAMED_AT_ONCE]
    ]
    return InvalidInput(FieldError(words, "", "", "file") for words in refused)


def is_noted(line: str) -> bool:
    """Whether a line tells a day and its amp-hours."""
    return _noted(line) is not None


def _noted(line: str) -> re.Match[str] | None:
    found = _LINE.fullmatch(line)
    return found if found is not None and written_day(found["day"]) is not None else None


def _is_percentage(line: str) -> bool:
    found = _PERCENT.fullmatch(line)
    return found is not None and written_day(found["day"]) is not None


def _told(rest: str) -> tuple[str, str, str]:
    """Why the test ended, the charge before it, and a note.

    Words alone of which none is known are about the end, so that they are asked about. A piece
    with a number may be anything, if it does not speak of an end.
    """
    pieces = [piece for piece in _PARTED.split(rest.strip()) if piece]
    charge = [one for one in pieces if _CHARGED.fullmatch(one) and charge_of(one)][:1]
    others = [one for one in pieces if one not in charge]
    end = [
        one
        for one in others
        if speaks_of_end(one) or (end_of(one) and not any(map(str.isdigit, one)))
    ]
    if not end and not any(map(str.isdigit, rest)):
        end = others
    note = [one for one in others if one not in end]
    return ", ".join(end), "".join(charge), ", ".join(note)
