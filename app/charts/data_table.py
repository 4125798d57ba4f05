"""The numbers behind a figure as one table, so that no chart is the only place where they stand."""

import html
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from app.charts.theme import Figure
from app.domain.i18n.marks import N_
from app.domain.i18n.message import ENGLISH, Reader, say, written_day, written_number
from app.domain.units.rounding import rounded_down

# A line of many points is listed at so many of them on a page; the file holds all.
MAX_LISTED = 12
_ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d(?: \d\d:\d\d)?")
_DAY_LETTERS = len("2026-11-25")
NAME, LOWER, UPPER = N_("what"), N_("from"), N_("to")
# Says of a trace that its values are lower bounds, which no rounding may raise.
LOWER_BOUNDS = "lower bounds"
Cell = str | float | None
Point = dict[str, Cell]


@dataclass(frozen=True)
class DataTable:
    """A header with units and a row for each point; the first cell says what it belongs to.

    listed is the same for a page: rounded to what the picture can show, intervals outwards, with
    long lines at some of their points only, which thinned tells.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    listed: tuple[tuple[str, ...], ...]
    thinned: bool
    most_listed: int = MAX_LISTED


def numbers_of(figure: Figure, reader: Reader = ENGLISH) -> DataTable:
    """Every point of every trace, every level and every event of a figure."""
    layout = figure["layout"]
    parts = [(trace, list(_trace_points(trace, layout))) for trace in figure["data"]]
    parts.append(({}, list(_marked_points(layout))))
    every = [point for _, points in parts for point in points]
    used = {column for point in every for column in point}
    header = [column for column in _columns(figure) if column in used]
    bounded = {LOWER, UPPER}.union(*(_bounded(trace, layout) for trace in figure["data"]))
    digits = {column: _digits(column, every) for column in header}
    # The most that one of them takes: the bounds are of the same kind as their value.
    digits |= dict.fromkeys(bounded, max(digits.get(column, 0) for column in bounded))
    listed: list[tuple[str, ...]] = []
    for trace, points in parts:
        down = _title_of_y(trace, layout) if trace.get("meta") == LOWER_BOUNDS else LOWER
        for point in _thinned(trace, points):
            cells = (
                _shown(point.get(c), digits[c], down=c in (LOWER, down), up=c == UPPER)
                if c != NAME
                else str(point[NAME])
                for c in header
            )
            listed.append(tuple(cells))
    rows = tuple(tuple(point.get(name) for name in header) for point in every)
    own = {column: reader.read(say(column)) for column in (NAME, LOWER, UPPER)}
    heads = tuple(own.get(column, column) for column in header)
    return DataTable(heads, rows, tuple(listed), thinned=len(listed) < len(rows))


def _columns(figure: Figure) -> list[str]:
    """Every column there could be, in the order of reading."""
    layout = figure["layout"]
    titles = [_title(layout, axis) for axis in layout if axis.startswith("xaxis")]
    titles += [_title(layout, axis) for axis in layout if axis.startswith("yaxis")]
    titles += [_title_of_colours(trace) for trace in figure["data"] if "colorbar" in trace]
    return list(dict.fromkeys([NAME, *titles, LOWER, UPPER]))


def _trace_points(trace: Figure, layout: Figure) -> Iterator[Point]:
    name = html.unescape(str(trace["name"]))
    across = _title(layout, "xaxis" + trace.get("xaxis", "x")[1:])
    up = _title_of_y(trace, layout)
    if trace["type"] == "heatmap":
        for row_name, row in zip(trace["y"], trace["z"], strict=True):
            for x, value in zip(trace["x"], row, strict=True):
                if value is not None:
                    yield {NAME: name, across: x, up: row_name, _title_of_colours(trace): value}
        return
    if trace.get("fill") == "toself":
        # A band is drawn along its upper edge and back along its lower one.
        half = len(trace["x"]) // 2
        edges = zip(trace["x"][:half], trace["y"][:half], trace["y"][half:][::-1], strict=True)
        for x, one, other in edges:
            yield {NAME: name, across: x, LOWER: min(one, other), UPPER: max(one, other)}
        return
    errors = trace["error_y"]["array"] if "error_y" in trace else [None] * len(trace["x"])
    for x, y, error in zip(trace["x"], trace["y"], errors, strict=True):
        if y is None:
            continue
        point: Point = {NAME: name, across: x, up: y}
        if error is not None:
            point |= {LOWER: round(y - error, 4), UPPER: round(y + error, 4)}
        yield point


def _marked_points(layout: Figure) -> Iterator[Point]:
    """Levels and events, which are lines with a label and no traces."""
    for note in layout.get("annotations", ()):
        name = html.unescape(str(note["text"]))
        if note.get("name") == "level":
            yield {NAME: name, _title(layout, "yaxis"): note["y"]}
        elif note.get("name") == "event":
            yield {NAME: name, _title(layout, "xaxis"): note["x"]}


def _title(layout: Figure, axis: str) -> str:
    return str(layout[axis]["title"]["text"])


def _title_of_y(trace: Figure, layout: Figure) -> str:
    return _title(layout, "yaxis" + trace.get("yaxis", "y")[1:])


def _title_of_colours(trace: Figure) -> str:
    return str(trace["colorbar"]["title"]["text"])


def _thinned(trace: Figure, points: Sequence[Point]) -> Sequence[Point]:
    last = len(points) - 1
    if last < MAX_LISTED or "lines" not in trace.get("mode", ""):
        return points
    return [points[round(step * last / (MAX_LISTED - 1))] for step in range(MAX_LISTED)]


def _bounded(trace: Figure, layout: Figure) -> set[str]:
    """The column whose values have bounds."""
    has_bounds = "error_y" in trace or trace.get("fill") == "toself"
    return {_title_of_y(trace, layout)} if has_bounds else set()


def _digits(column: str, points: Sequence[Point]) -> int:
    """As many as tell a thousandth of the range apart: a picture shows no more."""
    values = [v for p in points if isinstance(v := p.get(column), int | float)]
    spread = max(values, default=0.0) - min(values, default=0.0)
    if not spread:
        return 1 if any(value % 1 for value in values) else 0
    return max(0, -math.floor(math.log10(spread / 1000)) - 1)


def _day(text: str) -> str:
    """A day as axes of time have it, in the reader's order; any other text as it is."""
    if not _ISO_DAY.fullmatch(text):
        return text
    if len(text) == _DAY_LETTERS:
        return written_day(date.fromisoformat(text))
    return say("{moment}", moment=datetime.fromisoformat(text))


def _shown(value: Cell, digits: int, *, down: bool, up: bool) -> str:
    if value is None or isinstance(value, str):
        return _day(value or "")
    if down:
        value = rounded_down(value, digits)
    elif up:
        value = -rounded_down(-value, digits)
    return written_number(value, f".{digits}f")
