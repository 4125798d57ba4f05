"""The table in which readings are typed: its rows, the times filled into it, its counter."""

import re
from collections.abc import Mapping

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.units.column import FOLDED_COLUMN, TYPED_COLUMNS
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR
from app.domain.units.unit import as_clock_span, clock_span_s

FIRST_ROWS = 12
MORE_ROWS = 6
MAX_TYPED_ROWS = 400
# Times that were filled in, with spaces between: such a row without a reading is an empty one.
FILLED_TIMES = "filled_times"
# A whole reading in the first cell of a row, such as 14:30 9 13.2 22 80; scripts read it, too.
LINE = r"(\d{1,2}:\d{2}(?::\d{2})?)((?:[\s;]+-?\d+(?:[.,]\d+)?){1,5})"
_LINE = re.compile(LINE)


def typed_rows(values: Mapping[str, str]) -> tuple[tuple[str, ...], ...]:
    """The table of typed readings, as many rows as the form had (at least the first dozen)."""
    count = min(max(_row_count(values), FIRST_ROWS), MAX_TYPED_ROWS)
    return tuple(
        _spread(tuple(values.get(f"{name}_{i}", "").strip() for name in TYPED_COLUMNS))
        for i in range(count)
    )


def rows_with_readings(values: Mapping[str, str]) -> tuple[tuple[str, ...], ...]:
    """The typed rows; one of which nothing but the time was filled in by request is empty."""
    filled = values.get(FILLED_TIMES, "").split()
    empty = ("",) * len(TYPED_COLUMNS)
    return tuple(
        empty if row[0] in filled and not any(row[1:]) else row for row in typed_rows(values)
    )


def has_typed_rows(values: Mapping[str, str]) -> bool:
    return any(any(row) for row in rows_with_readings(values))


def with_more_times(values: Mapping[str, str]) -> dict[str, str]:
    """The table with its times continued: by the last step, or every hour after a single one.

    Nothing that was typed is replaced. Raises InvalidInput where there is no time to go on from.
    """
    times = [row[0] for row in typed_rows(values)]
    begun = next((i for i, text in enumerate(times) if not text), len(times))
    if begun == len(times):
        times += [""] * min(MORE_ROWS, MAX_TYPED_ROWS - len(times))
    known = [clock_span_s(text) for text in times[max(begun - 2, 0) : begun]] or [None]
    last, first = known[-1], known[0]
    step = SECONDS_PER_HOUR
    if len(known) == 2 and last is not None and first is not None:
        step = (last - first) % SECONDS_PER_DAY
    if last is None or first is None or not step:
        allowed = say("a time such as 14:30 to go on from")
        row = max(begun - 1, 0)
        raise InvalidInput.because(say("time"), times[row], allowed, f"{TYPED_COLUMNS[0]}_{row}")
    end = next((i for i in range(begun, len(times)) if times[i]), len(times))
    more = {
        f"{TYPED_COLUMNS[0]}_{i}": _written(last + (i - begun + 1) * step, times[0])
        for i in range(begun, end)
    }
    filled = " ".join((*values.get(FILLED_TIMES, "").split(), *more.values()))
    return {**values, **more, "rows": str(len(times)), FILLED_TIMES: filled}


def shows_counter(values: Mapping[str, str]) -> bool:
    """Whether the counter's column is there: it was asked for, or something stands in it."""
    counter = TYPED_COLUMNS.index(FOLDED_COLUMN)
    return bool(values.get(FOLDED_COLUMN)) or any(row[counter] for row in typed_rows(values))


def check_row_count(values: Mapping[str, str]) -> None:
    """Refuse more rows than the table holds, rather than cut them off."""
    last = f"{TYPED_COLUMNS[0]}_{MAX_TYPED_ROWS}"
    if values.get(last, "").strip():
        allowed = say(
            "at most {count} typed rows; paste longer tables as columns",
            count=MAX_TYPED_ROWS,
        )
        raise InvalidInput.because(say("readings"), values[last], allowed, "readings")


def _row_count(values: Mapping[str, str]) -> int:
    try:
        return int(values.get("rows", ""))
    except ValueError:
        return FIRST_ROWS


def _spread(row: tuple[str, ...]) -> tuple[str, ...]:
    """A row of which all was typed into the first cell, cell by cell; any other as it is."""
    line = None if any(row[1:]) else _LINE.fullmatch(row[0])
    if line is None:
        return row
    cells = (line[1], *line[2].replace(";", " ").split())
    return (*cells, *row[len(cells) :])


def _written(seconds: float, like: str) -> str:
    """A time as the first one is written: on the clock, with two digits, midnight is 00:00."""
    on_clock = len(like.split(":")[0]) == 2
    text = as_clock_span(seconds % SECONDS_PER_DAY if on_clock else seconds)
    return text.zfill(len(like)) if on_clock else text
