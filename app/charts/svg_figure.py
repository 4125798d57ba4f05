"""A figure as it stands on a page, drawn as SVG: the same traces, so the same numbers.

Takes the plain data that the chart modules make, with what these use of it, and refuses the rest.
"""

import html
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import groupby
from typing import Any

from app.charts import theme
from app.charts.event_marks import LANE_PX, NARROWEST_PX
from app.charts.svg_element import (
    TEXT,
    Element,
    add,
    brief,
    percent,
    picture,
    stroke,
    text_of,
    text_width,
)
from app.charts.svg_legend import KEY_LINE, draw_key, key_rows
from app.charts.svg_marks import Place, draw_arrow, draw_trace
from app.charts.svg_surface import SPAN, Surface, surface
from app.charts.theme import LEFT_PX, RIGHT_PX, Figure
from app.charts.ticks import date_ticks, further_dates, number_ticks
from app.domain.i18n.message import ENGLISH, Reader
from app.domain.units.time_units import SECONDS_PER_DAY, since_midnight_s

SMALL = 12.0
_UNDER_KEY, _OVER_LINE = 8.0, 3.0
# Room for one label of an axis, with a gap: a year, a number, "Mar 2027", a line of text.
_YEAR_WIDTH, _NUMBER_WIDTH, _MONTH_WIDTH, _LINE_HEIGHT = 50.0, 40.0, 90.0, 28.0
# A picture for every width has as many labels as suit a telephone.
_PHONE = 300.0
_ANCHORS = {"right": "end", "left": "start", "center": "middle"}
_LONG_DAYS = 1100


@dataclass(frozen=True)
class Axis:
    """One axis: what it shows, from where to where, and where its ticks stand.

    names are what stands along it in place of numbers, the first at 0. high lies below low where
    it is turned round.
    """

    title: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]
    names: tuple[str, ...] = ()

    def read_by(self, reader: Reader) -> "Axis":
        """The same axis with the texts of its ticks read."""
        return replace(self, ticks=tuple((at, reader.read(text)) for at, text in self.ticks))

    def further_dates(self, reader: Reader) -> tuple[tuple[float, str], ...]:
        """Of a date axis, what a wide screen shows between its ticks."""
        shown = {date.fromordinal(int(at)) for at, _ in self.ticks}
        ends = date.fromordinal(int(self.low) + 1), date.fromordinal(int(self.high))
        further = further_dates(*ends, shown)
        return tuple((float(day.toordinal()), reader.read(text)) for day, text in further)

    def share(self, value: float | str) -> float:
        """How far along the axis a value stands, 0 to 1."""
        named = self.names and isinstance(value, str)
        number = self.names.index(str(value)) if named else as_number(value)
        return (number - self.low) / (self.high - self.low)


def as_number(value: float | str) -> float:
    """A value of an axis as a number; dates as days with their fraction."""
    if not isinstance(value, str):
        return float(value)
    at = datetime.fromisoformat(value)
    return at.toordinal() + since_midnight_s(at) / SECONDS_PER_DAY


def figure_svg(
    figure: Figure,
    title: str,
    description: str,
    width: float | None = None,
    reader: Reader = ENGLISH,
    *,
    alone: bool = False,
) -> str:
    """Draw a figure for its reader, its plots exactly where the chart library puts them.

    With a width, in units, it has a key below it and grows to the room it is given: for paper and,
    if alone, as a file. Without one it suits every width, and stands between the margins of its
    layout, which the page gives it.
    """
    layout = figure["layout"]
    margin, height = layout["margin"], float(layout["height"])
    key = [] if width is None else key_rows(figure, width)
    whole = height + (KEY_LINE * len(key) + _UNDER_KEY if key else 0.0)
    root = picture(width, whole, reader.read(title), reader.read(description), TEXT, alone=alone)
    left = 0.0 if width is None else float(margin["l"])
    wide = None if width is None else width - left - float(margin["r"])
    plots = height - margin["t"] - margin["b"]
    for name in layout:
        if not name.startswith("yaxis"):
            continue
        low, high = layout[name].get("domain", (0, 1))
        panel = _Panel(figure, name.removeprefix("yaxis"), wide, plots * (high - low), reader)
        panel.draw(root, left, margin["t"] + plots * (1 - high))
    draw_key(root, key, height + 4)
    return text_of(root)


class _Panel:
    """One of the figure's panels: a y-axis with the traces that belong to it."""

    def __init__(
        self, figure: Figure, suffix: str, wide: float | None, tall: float, reader: Reader
    ) -> None:
        layout = figure["layout"]
        of_y = layout[f"yaxis{suffix}"]
        self._wide, self._tall = wide, tall
        self._traces = [t for t in figure["data"] if t.get("yaxis", "y") == f"y{suffix}"]
        # Panels one above the other may share the x-axis of the last.
        name = f"xaxis{suffix}" if f"xaxis{suffix}" in layout else "xaxis"
        of_x = layout[name]
        sharing = [t for t in figure["data"] if t.get("xaxis", "x") == name.replace("axis", "")]
        room = _PHONE if wide is None else wide
        self._x = _axis(of_x, [v for t in sharing for v in t["x"]], room).read_by(reader)
        values = [v for t in self._traces for v in t["y"] if v is not None]
        # Lines of text one above the other need less room than labels beside each other.
        self._y = _axis(of_y, values, tall * _NUMBER_WIDTH / _LINE_HEIGHT).read_by(reader)
        # For wide screens there are more of them.
        self._more_x = () if wide or of_x.get("type") != "date" else self._x.further_dates(reader)
        self._labels_x = of_x.get("anchor", "y") == f"y{suffix}"
        # Dates say by themselves what they are.
        self._names_x = of_x.get("type") != "date"
        first = suffix == ""
        shapes = layout.get("shapes", ()) if first else ()
        # Lines that reach above the panel lead to the labels of events.
        self._stems = [one for one in shapes if one.get("ysizemode") == "pixel"]
        self._shapes = [one for one in shapes if one.get("ysizemode") != "pixel"]
        notes = layout.get("annotations", ()) if first else ()
        self._events = [one for one in notes if one.get("yref") == "paper"]
        self._notes = [one for one in notes if one.get("yref") != "paper"]

    def draw(self, root: Element, left: float, top: float) -> None:
        above = max((note["yshift"] + LANE_PX for note in self._events), default=0.0)
        add(root, "text", self._y.title, x=left - LEFT_PX + 2, y=top - 12 - above)
        fluid = self._wide is None
        # What stands around the panel is not cut off at its edges.
        wide = SPAN if self._wide is None else self._wide
        around = Surface(root, root, wide, fluid=fluid)
        panel = surface(root, left, top, self._wide, self._tall)
        self._draw_axes(around, panel, left, top)

        def x(value: float | str) -> float:
            return wide * self._x.share(value)

        def y(value: float) -> float:
            return self._tall * (1 - self._y.share(value))

        behind = [shape for shape in self._shapes if shape.get("layer") == "below"]
        for shape in behind:
            self._draw_shape(panel, shape, x, y)
        for trace in self._traces:
            draw_trace(panel, trace, x, y)
        for shape in self._shapes:
            if shape not in behind:
                self._draw_shape(panel, shape, x, y)
        for is_arrow, notes in groupby(self._notes, key=lambda note: bool(note["showarrow"])):
            letters = panel if is_arrow else _on_top(panel)
            for note in notes:
                at_edge = note.get("xref") == "paper"
                place = wide * note["x"] if at_edge else x(note["x"]), y(note["y"])
                if is_arrow:
                    draw_arrow(panel, note["arrowcolor"], *place, note["yshift"])
                else:
                    _write_beside(letters, note, *place)
        for stem in self._stems:
            at, up = brief(top), float(stem["y1"])
            across = percent(self._x.share(stem["x0"])) if fluid else brief(left + x(stem["x0"]))
            ends = {"x1": across, "x2": across, "y1": at, "y2": brief(top - up)}
            add(root, "line", **ends, **stroke(stem["line"]))
        labels = _on_top(around) if self._events else around
        for note in self._events:
            at_edge = note.get("xref") == "paper"
            _write_event(labels, note, left + (0.0 if at_edge else x(note["x"])), top)

    def _draw_shape(self, panel: Surface, shape: Figure, x: Place, y: Place) -> None:
        """A line across the panel, up it, or between two of its places."""
        across, up = shape.get("xref") == "paper", shape.get("yref") == "paper"
        x0, x1 = (0.0, panel.wide) if across else (x(shape["x0"]), x(shape["x1"]))
        y0, y1 = (0.0, self._tall) if up else (y(shape["y0"]), y(shape["y1"]))
        d = f"M{brief(x0)} {brief(y0)}L{brief(x1)} {brief(y1)}"
        panel.path(d, fill="none", **stroke(shape["line"]))

    def _draw_axes(self, around: Surface, panel: Surface, left: float, top: float) -> None:
        tall, wide = self._tall, around.wide
        bottom, root = top + tall, around.marks
        beside = add(root, "g", text_anchor="end")
        under = add(root, "g", text_anchor="middle")
        lines = []
        for value, text in self._y.ticks:
            at = tall * (1 - self._y.share(value))
            lines.append(f"M0 {brief(at)}h{brief(wide)}")
            add(beside, "text", text, x=left - 6, y=top + at + 4.5)
        for value, text in self._x.ticks:
            at = wide * self._x.share(value)
            lines.append(f"M{brief(at)} 0v{brief(tall)}")
            if self._labels_x:
                _write_tick(replace(around, marks=under), text, at, left, bottom + 17)
        panel.path("".join(lines), stroke=theme.GRID)
        for value, text in self._more_x:
            at = wide * self._x.share(value)
            panel.path(f"M{brief(at)} 0v{brief(tall)}", stroke=theme.GRID, **{"class": "wide"})
            if self._labels_x:
                label = _write_tick(replace(around, marks=under), text, at, left, bottom + 17)
                label.set("class", "wide")
        # Half of a line at the edge is cut off.
        edge = stroke({"color": theme.MUTED, "width": 2})
        panel.path(f"M0 {brief(tall)}h{brief(wide)}", **edge)
        if self._labels_x and self._names_x:
            around.text(self._x.title, left + wide, bottom + 36, text_anchor="end")


def _write_tick(around: Surface, text: str, at: float, left: float, y: float) -> Element:
    """A label under an axis, which does not run out of the picture at its right end."""
    narrowest = NARROWEST_PX if around.fluid else around.wide
    behind = (1 - at / around.wide) * narrowest + RIGHT_PX - 1
    if text_width(text, TEXT) / 2 <= behind:
        return around.text(text, left + at, y)
    return around.text(text, left + around.wide, y, RIGHT_PX - 1, text_anchor="end")


def _on_top(surface: Surface) -> Surface:
    """A place for text over lines and bands: it has a pale edge, so that it can be read."""
    edge = stroke({"color": theme.PAPER, "width": 3})
    letters = add(
        surface.marks, "g", font_size=SMALL, paint_order="stroke", stroke_opacity=0.8, **edge
    )
    return replace(surface, marks=letters)


def _look_of(note: Figure) -> dict[str, Any]:
    """How the text of a note differs from any other."""
    anchor, color = _ANCHORS[note["xanchor"]], note["font"]["color"]
    look = {} if anchor == "start" else {"text_anchor": anchor}
    return look if color == theme.INK else {**look, "fill": color}


def _named_axis(given: Figure, values: Sequence[str]) -> Axis:
    """An axis of names, each with as much room as the others; dtick says which of them stand."""
    names = tuple(dict.fromkeys(values))
    every = given.get("dtick", 1)
    ticks = tuple((float(i), name) for i, name in enumerate(names) if i % every == 0)
    low, high = -0.5, len(names) - 0.5
    # The first name of an axis upwards stands at the bottom, unless it is turned round.
    if given.get("autorange") == "reversed":
        low, high = high, low
    return Axis(given["title"]["text"], low, high, ticks, names)


def _axis(given: Figure, values: Sequence[float | str], room: float) -> Axis:
    """An axis over the values, or over the range it is given; room is for its labels."""
    if given.get("type") == "category":
        return _named_axis(given, [str(value) for value in values])
    numbers = [as_number(value) for value in given.get("range", values)]
    low, high = min(numbers, default=0.0), max(numbers, default=1.0)
    if high <= low:
        low, high = low - 1, high + 1
    if "range" not in given:
        margin = 0.04 * (high - low)
        if given.get("rangemode") == "tozero" and low >= 0:
            # A point at zero is not cut in half.
            low, margin = 0.0, 0.015 * high
        low, high = low - margin, high + margin
    title = given["title"]["text"]
    if given.get("type") != "date":
        return Axis(title, low, high, number_ticks(low, high, max(2, int(room / _NUMBER_WIDTH))))
    years = high - low > _LONG_DAYS
    most = max(2, int(room / (_YEAR_WIDTH if years else _MONTH_WIDTH)))
    first, last = date.fromordinal(int(low) + 1), date.fromordinal(int(high))
    ticks = date_ticks(first, last, most, years=years)
    return Axis(title, low, high, tuple((float(day.toordinal()), text) for day, text in ticks))


def _write_beside(panel: Surface, note: Figure, x: float, y: float) -> None:
    """A name beside what it names."""
    below = {"top": SMALL, "middle": SMALL / 3}.get(note["yanchor"], -_OVER_LINE)
    shift = float(note.get("xshift", 0))
    level = y + below - note.get("yshift", 0)
    panel.text(html.unescape(note["text"]), x, level, shift, **_look_of(note))


def _write_event(around: Surface, note: Figure, x: float, top: float) -> None:
    around.text(note["text"], x, top - note["yshift"] - 4, **_look_of(note))
