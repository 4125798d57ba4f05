"""Telling a table of past tests, a row a test, from a log with the readings of one test."""

from app.domain.errors import InvalidInput, truncate
from app.domain.i18n.message import say
from app.domain.past_tests.columns import PastColumn
from app.ingest.headings import use_of_heading
from app.ingest.past_tests.column_choice import ChosenColumns, choose_columns
from app.ingest.past_tests.days import written_day
from app.ingest.past_tests.table import OpenedPastTests, open_past_tests
from app.ingest.wording.cells import is_time

_FEW = 4
# A larger file holds no table of past tests.
_MOST_BYTES = 2_000_000
# A record of one test lies in a few days; tests lie apart.
_ROWS_A_DAY = 3
_CARRIERS = {"current", "power", "count"}


def refuse_log(opened: OpenedPastTests, chosen: ChosenColumns) -> None:
    """Raises InvalidInput for the readings of one test, and says where they belong."""
    if len(opened.rows) < _FEW or not _is_log(opened, chosen):
        return
    raise InvalidInput.because(
        say("table"),
        truncate(", ".join(name for name in opened.header if name) or "?"),
        say(
            "one row a test. These look like the readings of one test: bring them in under “Enter "
            "a capacity test”"
        ),
        "table",
    )


def past_tests_elsewhere(data: bytes, part: str | None) -> InvalidInput | None:
    """What to say of a file that is no log but a table of past tests; None for any other file."""
    if len(data) > _MOST_BYTES or not is_past_tests(data, part):
        return None
    return InvalidInput.saying(
        say(
            "This is a table of past tests, one row a test. Here go the readings of one test; such "
            "a table comes in under “Bring in past tests” on the page of its battery, or by "
            "“fadeline import”."
        ),
        "file",
    )


def is_past_tests(data: bytes, part: str | None = None) -> bool:
    """Whether a file that was brought as a log is in truth a table of past tests."""
    try:
        opened = open_past_tests(data, part=part)
    except InvalidInput:
        return False
    chosen = choose_columns(opened, None, None)
    day = chosen.at(PastColumn.DAY)
    if day is None or chosen.problem or _is_log(opened, chosen):
        return False
    days = [one for cell in opened.column(day) if (one := written_day(cell)) and one.whole]
    apart = len({(one.year, one.month, one.day) for one in days})
    return len(days) >= 2 and apart > 0.8 * len(days)


def _is_log(opened: OpenedPastTests, chosen: ChosenColumns) -> bool:
    roles = {use_of_heading(name).role for name in opened.header}
    day = chosen.at(PastColumn.DAY)
    if day is None:
        return "time" in roles and bool(roles & _CARRIERS)
    cells = opened.column(day)
    days = [one for cell in cells if (one := written_day(cell)) and one.whole]
    clocks = sum(one.clock is not None for one in days) >= len(days) / 2 or any(
        is_time(opened.rows[0][1][i]) for i in range(len(opened.header)) if i != day
    )
    apart = len({(one.year, one.month, one.day) for one in days})
    return bool(days) and clocks and len(days) >= _ROWS_A_DAY * apart
