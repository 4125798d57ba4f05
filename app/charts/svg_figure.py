"""A figure as it stands on a page, drawn as SVG: the same traces, so the same numbers.

Takes the plain data that the chart modules make, with what these use of it, and refuses the rest.
"""

import html
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from app.charts import theme
from app.charts.event_marks import LANE_PX
from app.charts.svg_element import (
    TEXT,
    Element,
    add,
    brief,
    picture,
    stroke,
    text_of,
    text_width,
)
from app.charts.svg_legend import KEY_LINE, draw_key, key_rows
from app.charts.svg_marks import draw_arrow, draw_trace
from app.charts.theme import Figure
from app.charts.ticks import date_ticks, number_ticks
from app.domain.i18n.message import ENGLISH, Reader
from app.domain.units.time_units import SECONDS_PER_DAY, since_midnight_s

# In units of the picture. At 440 units on a screen 360 pixels wide a letter has 10 pixels.
NARROW = 440.0
SMALL = 12.5
_EDGE, _UNDER_KEY = 14.0, 8.0
_TITLE, _TICKS, _GAP = 22.0, 19.0, 10.0
# Room for one label of an axis, with a gap: a number or a year, "Mar 2027", a line of text.
_NUMBER_WIDTH, _MONTH_WIDTH, _LINE_HEIGHT = 50.0, 80.0, 28.0
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
    panel_height: float,
    width: float,
    reader: Reader = ENGLISH,
    *,
    alone: bool = False,
) -> str:
    """Draw a figure for its reader. panel_height is the height of all its panels together, in
    units; alone makes a file of it."""
    layout = figure["layout"]
    names = [name for name in layout if name.startswith("yaxis")]
    panels = [
        _Panel(figure, name.removeprefix("yaxis"), width, panel_height, reader) for name in names
    ]
    heights = [panel.height for panel in panels]
    key = key_rows(figure, width)
    below = [panel.below for panel in panels]
    above = [panel.above for panel in panels]
    height = sum(heights) + sum(below) + sum(above) + _TITLE * len(panels)
    height += KEY_LINE * len(key) + _UNDER_KEY
    left = max(_EDGE, *(panel.label_width for panel in panels)) + 8
    root = picture(width, height, reader.read(title), reader.read(description), TEXT, alone=alone)
    top = 0.0
    for panel, tall, under, over in zip(panels, heights, below, above, strict=True):
        panel.draw(root, left, top + _TITLE + over, width - left - _EDGE, tall)
        top += _TITLE + over + tall + under
    draw_key(root, key, top + 4)
    return text_of(root)


def room_for_panels(figure: Figure, height: float, width: float, reader: Reader = ENGLISH) -> float:
    """The panel_height with which figure_svg makes a picture of this height."""
    layout = figure["layout"]
    names = [name for name in layout if name.startswith("yaxis")]
    panels = [_Panel(figure, name.removeprefix("yaxis"), width, height, reader) for name in names]
    frames = sum(panel.below + panel.above + _TITLE for panel in panels)
    left = height - frames - KEY_LINE * len(key_rows(figure, width)) - _UNDER_KEY
    # The gaps that the figure leaves between its panels are not drawn.
    return float(left * height / sum(panel.height for panel in panels))


class _Panel:
    """One of the figure's panels: a y-axis with the traces that belong to it."""

    def __init__(
        self, figure: Figure, suffix: str, width: float, all_heights: float, reader: Reader
    ) -> None:
        layout = figure["layout"]
        of_y = layout[f"yaxis{suffix}"]
        self._traces = [t for t in figure["data"] if t.get("yaxis", "y") == f"y{suffix}"]
        # Panels one above the other may share the x-axis of the last.
        name = f"xaxis{suffix}" if f"xaxis{suffix}" in layout else "xaxis"
        of_x = layout[name]
        sharing = [t for t in figure["data"] if t.get("xaxis", "x") == name.replace("axis", "")]
        self._x = _axis(of_x, [v for t in sharing for v in t["x"]], width - 70).read_by(reader)
        domain = of_y.get("domain", [0, 1])
        self.height = all_heights * (domain[1] - domain[0])
        values = [v for t in self._traces for v in t["y"] if v is not None]
        # Lines of text one above the other need less room than labels beside each other.
        self._y = _axis(of_y, values, self.height * _NUMBER_WIDTH / _LINE_HEIGHT).read_by(reader)
        self._labels_x = of_x.get("anchor", "y") == f"y{suffix}"
        first = suffix == ""
        shapes = layout.get("shapes", ()) if first else ()
        # Lines that reach above the panel lead to the labels of events.
        self._stems = [one for one in shapes if one.get("ysizemode") == "pixel"]
        self._shapes = [one for one in shapes if one.get("ysizemode") != "pixel"]
        notes = layout.get("annotations", ()) if first else ()
        self._events = [one for one in notes if one.get("yref") == "paper"]
        self._notes = [one for one in notes if one.get("yref") != "paper"]

    @property
    def above(self) -> float:
        """Room over the panel for the labels of events."""
        return max((note["yshift"] + LANE_PX for note in self._events), default=0.0)

    @property
    def below(self) -> float:
        """Room under the panel: for the x-axis with its title, or for a gap."""
        return _TICKS + _TITLE if self._labels_x else _GAP

    @property
    def label_width(self) -> float:
        return max((text_width(text, TEXT) for _, text in self._y.ticks), default=0.0)

    def draw(self, root: Element, left: float, top: float, wide: float, tall: float) -> None:
        add(root, "text", self._y.title, x=2, y=top - 8 - self.above)
        self._draw_axes(root, left, top, wide, tall)
        # An inner picture cuts off what runs out of the panel.
        inner = add(root, "svg", x=left, y=top, width=wide, height=tall, overflow="hidden")

        def x(value: float | str) -> float:
            return wide * self._x.share(value)

        def y(value: float) -> float:
            return tall * (1 - self._y.share(value))

        for shape in self._shapes:
            across = shape.get("xref") == "paper"
            x0, x1 = (0.0, wide) if across else (x(shape["x0"]), x(shape["x1"]))
            y0, y1 = (y(shape["y0"]), y(shape["y1"])) if across else (0.0, tall)
            add(inner, "line", x1=x0, y1=y0, x2=x1, y2=y1, **stroke(shape["line"]))
        for trace in self._traces:
            draw_trace(inner, trace, x, y)
        for note in self._notes:
            if note["showarrow"]:
                draw_arrow(inner, note["arrowcolor"], x(note["x"]), y(note["y"]), note["yshift"])
            elif note.get("xref") == "paper":
                _write_level(inner, note, wide, y(note["y"]))
            else:
                _write_beside(inner, note, x(note["x"]), y(note["y"]))
        for stem in self._stems:
            at, up = left + x(stem["x0"]), float(stem["y1"])
            add(root, "line", x1=at, y1=top, x2=at, y2=top - up, **stroke(stem["line"]))
        for note in self._events:
            at = left if note.get("xref") == "paper" else left + x(note["x"])
            _write_event(root, note, at, top - note["yshift"] - 4)

    def _draw_axes(self, root: Element, left: float, top: float, wide: float, tall: float) -> None:
        bottom, lines = top + tall, []
        beside = add(root, "g", text_anchor="end")
        for value, text in self._y.ticks:
            at = top + tall * (1 - self._y.share(value))
            lines.append(f"M{brief(left)} {brief(at)}h{brief(wide)}")
            add(beside, "text", text, x=left - 5, y=at + 4.5)
        under = add(root, "g", text_anchor="middle")
        for value, text in self._x.ticks:
            at = left + wide * self._x.share(value)
            lines.append(f"M{brief(at)} {brief(top)}v{brief(tall)}")
            if self._labels_x:
                half = text_width(text, TEXT) / 2
                at = min(max(at, left + half - 8), left + wide + _EDGE - half)
                add(under, "text", text, x=at, y=bottom + 16)
        add(root, "path", d="".join(lines), stroke=theme.GRID)
        edge = f"M{brief(left)} {brief(bottom)}h{brief(wide)}"
        add(root, "path", d=edge, stroke=theme.MUTED)
        if self._labels_x:
            place = {"x": left + wide, "y": bottom + 16 + _TICKS}
            add(root, "text", self._x.title, text_anchor="end", **place)


# Text over lines and bands has a pale edge, so that it can be read.
_ON_TOP: dict[str, Any] = {
    "font_size": SMALL,
    "paint_order": "stroke",
    "stroke": theme.PAPER,
    "stroke_width": 3,
    "stroke_opacity": 0.8,
}


def _named_axis(given: Figure, values: Sequence[str], room: float) -> Axis:
    """An axis of names, each with as much room as the others; labels that would not fit are left
    out evenly."""
    names = tuple(dict.fromkeys(values))
    longest = max((text_width(name, TEXT) for name in names), default=0.0) + 6
    every = max(1, math.ceil(len(names) * longest / max(room, 1.0)))
    ticks = tuple((float(i), name) for i, name in enumerate(names) if i % every == 0)
    low, high = -0.5, len(names) - 0.5
    # The first name of an axis upwards stands at the bottom, unless it is turned round.
    if given.get("autorange") == "reversed":
        low, high = high, low
    return Axis(given["title"]["text"], low, high, ticks, names)


def _axis(given: Figure, values: Sequence[float | str], room: float) -> Axis:
    """An axis over the values, or over the range it is given; room is for its labels."""
    if given.get("type") == "category":
        return _named_axis(given, [str(value) for value in values], room)
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
    most = max(2, int(room / (_NUMBER_WIDTH if years else _MONTH_WIDTH)))
    first, last = date.fromordinal(int(low) + 1), date.fromordinal(int(high))
    ticks = date_ticks(first, last, most, years=years)
    return Axis(title, low, high, tuple((float(day.toordinal()), text) for day, text in ticks))


def _write_level(panel: Element, note: Figure, wide: float, y: float) -> None:
    right = note["x"] == 1
    anchor, at = ("end", wide - 4) if right else ("start", 4.0)
    color = note["font"]["color"]
    add(panel, "text", note["text"], x=at, y=y - 4, text_anchor=anchor, fill=color, **_ON_TOP)


def _write_beside(panel: Element, note: Figure, x: float, y: float) -> None:
    """A name beside what it names."""
    anchor = {"right": "end", "left": "start", "center": "middle"}[note["xanchor"]]
    below = SMALL if note["yanchor"] == "top" else 0.0
    place = {"x": x + note.get("xshift", 0), "y": y + below - note["yshift"], "text_anchor": anchor}
    add(panel, "text", html.unescape(note["text"]), fill=note["font"]["color"], **place, **_ON_TOP)


def _write_event(root: Element, note: Figure, x: float, y: float) -> None:
    anchor = "end" if note["xanchor"] == "right" else "start"
    color = note["font"]["color"]
    add(root, "text", note["text"], x=x, y=y, text_anchor=anchor, fill=color, **_ON_TOP)
