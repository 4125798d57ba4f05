"""A figure as it stands on a page, drawn as SVG: the same traces, so the same numbers.

Takes the plain data that the chart modules make, with what these use of it, and refuses the rest.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from app.charts import theme
from app.charts.event_marks import LANE_PX
from app.charts.svg_element import Element, add, brief, paint, picture, stroke, text_of, text_width
from app.charts.svg_marks import draw_arrow, draw_markers, draw_trace
from app.charts.ticks import date_ticks, number_ticks

# In units of the picture. At 440 units on a screen 360 pixels wide a letter has 10 pixels.
NARROW = 440.0
TEXT, SMALL = 14.0, 12.5
_SAMPLE, _KEY_LINE, _EDGE = 26.0, 20.0, 14.0
_TITLE, _TICKS, _GAP = 22.0, 19.0, 10.0
# Room for one label of an axis, with a gap: a number or a year, "Mar 2027", a line of text.
_NUMBER_WIDTH, _MONTH_WIDTH, _LINE_HEIGHT = 50.0, 80.0, 28.0
_LONG_DAYS = 1100
_SECONDS_PER_DAY = 86_400
Figure = dict[str, Any]


@dataclass(frozen=True)
class Axis:
    """One axis: what it shows, from where to where, and where its ticks stand."""

    title: str
    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]

    def share(self, value: float | str) -> float:
        """How far along the axis a value stands, 0 to 1."""
        return (as_number(value) - self.low) / (self.high - self.low)


def as_number(value: float | str) -> float:
    """A value of an axis as a number; dates as days with their fraction."""
    if not isinstance(value, str):
        return float(value)
    at = datetime.fromisoformat(value)
    since = timedelta(hours=at.hour, minutes=at.minute, seconds=at.second)
    return at.toordinal() + since.total_seconds() / _SECONDS_PER_DAY


def figure_svg(
    figure: Figure, title: str, description: str, panel_height: float, width: float = NARROW
) -> str:
    """Draw a figure. panel_height is the height of all its panels together, in units."""
    layout = figure["layout"]
    names = [name for name in layout if name.startswith("yaxis")]
    panels = [_Panel(figure, name.removeprefix("yaxis"), width, panel_height) for name in names]
    heights = [panel.height for panel in panels]
    key = _key_rows(figure, width)
    below = [panel.below for panel in panels]
    above = [panel.above for panel in panels]
    height = sum(heights) + sum(below) + sum(above) + _TITLE * len(panels)
    height += _KEY_LINE * len(key) + 8
    left = max(_EDGE, *(panel.label_width for panel in panels)) + 8
    root = picture(width, height, title, description, TEXT)
    top = 0.0
    for panel, tall, under, over in zip(panels, heights, below, above, strict=True):
        panel.draw(root, left, top + _TITLE + over, width - left - _EDGE, tall)
        top += _TITLE + over + tall + under
    _draw_key(root, key, top + 4)
    return text_of(root)


class _Panel:
    """One of the figure's panels: a y-axis with the traces that belong to it."""

    def __init__(self, figure: Figure, suffix: str, width: float, all_heights: float) -> None:
        layout = figure["layout"]
        of_y = layout[f"yaxis{suffix}"]
        self._traces = [t for t in figure["data"] if t.get("yaxis", "y") == f"y{suffix}"]
        # Panels one above the other may share the x-axis of the last.
        name = f"xaxis{suffix}" if f"xaxis{suffix}" in layout else "xaxis"
        of_x = layout[name]
        sharing = [t for t in figure["data"] if t.get("xaxis", "x") == name.replace("axis", "")]
        self._x = _axis(of_x, [v for t in sharing for v in t["x"]], width - 70)
        domain = of_y.get("domain", [0, 1])
        self.height = all_heights * (domain[1] - domain[0])
        values = [v for t in self._traces for v in t["y"] if v is not None]
        # Lines of text one above the other need less room than labels beside each other.
        self._y = _axis(of_y, values, self.height * _NUMBER_WIDTH / _LINE_HEIGHT)
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
            else:
                _write_level(inner, note, wide, y(note["y"]))
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
    "stroke": "#ffffff",
    "stroke_width": 3,
    "stroke_opacity": 0.8,
}


def _axis(given: Figure, values: Sequence[float | str], room: float) -> Axis:
    """An axis over the values, or over the range it is given; room is for its labels."""
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


def _write_event(root: Element, note: Figure, x: float, y: float) -> None:
    anchor = "end" if note["xanchor"] == "right" else "start"
    color = note["font"]["color"]
    add(root, "text", note["text"], x=x, y=y, text_anchor=anchor, fill=color, **_ON_TOP)


def _key_rows(figure: Figure, width: float) -> list[list[tuple[float, Figure]]]:
    """The traces that the key names, line by line, each with where it starts."""
    rows: list[list[tuple[float, Figure]]] = []
    at = width
    for trace in figure["data"]:
        if not trace.get("showlegend", True):
            continue
        needed = _SAMPLE + 6 + text_width(trace["name"], TEXT) + 12
        if not rows or at + needed > width:
            rows.append([])
            at = 2.0
        rows[-1].append((at, trace))
        at += needed
    return rows


def _draw_key(root: Element, rows: list[list[tuple[float, Figure]]], top: float) -> None:
    for number, row in enumerate(rows):
        middle = top + _KEY_LINE * (number + 0.5)
        for x, trace in row:
            _draw_sample(root, trace, x, middle)
            left = x + _SAMPLE + 6
            add(root, "text", trace["name"], x=left, y=middle + 4.5)


def _draw_sample(root: Element, trace: Figure, x: float, y: float) -> None:
    """What a trace looks like, in little."""
    centre = x + _SAMPLE / 2
    if trace.get("fill") == "toself":
        look = paint(trace["fillcolor"])
        add(root, "rect", x=x, y=y - 7, width=_SAMPLE, height=14, stroke=theme.MUTED, **look)
        return
    if "lines" in trace["mode"]:
        add(root, "path", d=f"M{x:.1f} {y:.1f}h{_SAMPLE:.1f}", **stroke(trace["line"]))
    if "error_y" in trace:
        bar = {"color": trace["error_y"]["color"], "width": trace["error_y"]["thickness"]}
        add(root, "path", d=f"M{centre:.1f} {y - 9:.1f}v18", **stroke(bar))
    if "markers" not in trace["mode"] or "marker" not in trace:
        return
    if trace["marker"].get("symbol") == "line-ew-open":
        # A lower bound always has its arrow.
        draw_markers(root, trace["marker"], [(centre, y + 7)])
        draw_arrow(root, trace["marker"]["color"], centre, y + 7, 16)
    else:
        draw_markers(root, trace["marker"], [(centre, y)])
