"""What to say of a text without a table of readings, and of one that is too large to be one."""

from collections.abc import Sequence

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.message import say

# Of lines of prose some hold two numbers by chance; of a record nearly all do.
_LEAST_SHARE = 0.25


def is_prose(delimiter: str, rows: Sequence[bool]) -> bool:
    """Whether words with blanks between them only look like columns here and there.

    rows says of each filled line from the first one with numbers on whether it has numbers.
    """
    return delimiter == " " and sum(rows) < _LEAST_SHARE * len(rows)


class NoTable(InvalidInput):
    """A text that holds no readings: its first filled line."""

    begins_with = ""


def no_table(begins_with: str) -> NoTable:
    """The refusal of a text that holds no readings; says what such a text looks like."""
    refused = NoTable(
        [
            FieldError(
                say(
                    "No table of readings found in the text that begins with “{start}”. Fadeline "
                    "reads lines with a time and a current, separated by commas, semicolons or "
                    "tabs, such as CSV from a spreadsheet. Two such lines: 08:00;12.5 and "
                    "09:00;12.4.",
                    start=truncate(begins_with),
                ),
                "",
                "",
                "file",
            )
        ]
    )
    refused.begins_with = begins_with
    return refused


def no_temperatures(begins_with: str) -> InvalidInput:
    """The refusal of such a text where temperatures were wanted."""
    return InvalidInput.saying(
        say(
            "No temperatures found in the text that begins with “{start}”. Fadeline reads lines "
            "with a date, a time and a temperature, separated by commas, semicolons or tabs. Two "
            "such lines: 2026-05-01 08:00;21.5 and 2026-05-01 09:00;21.8.",
            start=truncate(begins_with),
        ),
        "file",
    )


def too_many_lines(count: int, most: int) -> InvalidInput:
    return InvalidInput.saying(
        say(
            "This table has {count} lines; Fadeline reads at most {most}. Keep the lines of one "
            "test and try again.",
            count=count,
            most=most,
        ),
        "file",
    )


def too_many_columns(count: int, most: int) -> InvalidInput:
    return InvalidInput.saying(
        say(
            "This table has {count} columns; Fadeline reads at most {most}. Delete the columns "
            "that are not needed and try again.",
            count=count,
            most=most,
        ),
        "file",
    )
