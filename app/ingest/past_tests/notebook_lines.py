"""Lines of a notebook without headings: a day, the amp-hours, and a word on how it ended."""

import re
from collections.abc import Sequence

from app.domain.errors import InvalidInput, truncate
from app.domain.i18n.message import say
from app.ingest.dialect import Row
from app.ingest.past_tests.amounts import ABOUT, AT_LEAST
from app.ingest.past_tests.days import written_day

# Aug 2022: 98 Ah, switched off. A comma or semicolon behind the day parts columns already.
_LINE = re.compile(
    r"(?P<day>\S.*?\d)(?:\s*:\s*|\s+[-–]\s+|\s+)"
    rf"(?P<amount>(?:{ABOUT.pattern}|{AT_LEAST.pattern})?\d+(?:[.,]\d+)?\s*Ah)"
    r"(?:\s*[,;:–-]\s*|\s+|$)(?P<rest>.*)",
    re.IGNORECASE,
)
_PERCENT = re.compile(r"(?P<day>\S.*?\d)(?:\s*:\s*|\s+[-–]\s+|\s+)\d+(?:[.,]\d+)?\s*%.*")
EXAMPLE = "2024-03-31: 98 Ah"


def no_capacity(written: str) -> InvalidInput:
    """The refusal of a percentage where the amp-hours of a test should be."""
    words = say(
        "“{written}” is a percentage, and that is no capacity: a gauge works it out from a "
        "capacity that someone typed in. Write the amp-hours that the test delivered, for "
        "example: {example}.",
        written=truncate(written),
        example=EXAMPLE,
    )
    return InvalidInput.saying(words, "file")


def notebook_rows(lines: Sequence[str]) -> list[tuple[int, Row]] | None:
    """The cells of such lines with their numbers; None where a single line is another.

    Raises InvalidInput where among them one has a percentage instead of amp-hours.
    """
    rows: list[tuple[int, Row]] = []
    of_gauge = ""
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        found = _LINE.fullmatch(line.strip())
        percent = None if found else _PERCENT.fullmatch(line.strip())
        if percent is not None and written_day(percent["day"]) is not None:
            of_gauge = of_gauge or line.strip()
            continue
        if found is None or written_day(found["day"]) is None:
            return None
        rows.append((number, (found["day"], found["amount"].strip(), found["rest"].strip())))
    if rows and of_gauge:
        raise no_capacity(of_gauge)
    if not any(row[2] for _, row in rows):
        rows = [(number, row[:2]) for number, row in rows]
    return rows or None


def odd_line(lines: Sequence[str]) -> InvalidInput | None:
    """The refusal of the one line that is another where most are such lines; None where not."""
    filled = [(number, line.strip()) for number, line in enumerate(lines, start=1) if line.strip()]
    odd = [(number, line) for number, line in filled if not _is_noted(line)]
    if not odd or 2 * len(odd) >= len(filled):
        return None
    number, line = odd[0]
    words = say(
        "Line {number} is no test: “{written}”. Write each as a day and amp-hours with their unit, "
        "for example: {example}; leave out any other line.",
        number=number,
        written=truncate(line),
        example=EXAMPLE,
    )
    return InvalidInput.saying(words, "file")


def _is_noted(line: str) -> bool:
    found = _LINE.fullmatch(line)
    return found is not None and written_day(found["day"]) is not None
