"""Lines, bands, points and arrows of a figure inside one panel of a picture."""

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby, pairwise
from typing import Any

from app.charts import theme
from app.charts.svg_element import brief, paint, stroke
from app.charts.svg_surface import Surface
from app.charts.theme import Figure

Place = Callable[[Any], float]
Point = tuple[float, float]
_POINT_PX = 6
_ARROW_LINE = 1.8
# Two digits and a sign in a twelfth of the narrowest plot.
_CELL_TEXT = 11.0
Mark = Callable[[float, float], str]
# As far as a point may lie beside a line that is drawn without it: half a step of its coordinates.
BESIDE = 0.05


def draw_trace(panel: Surface, trace: Figure, x: Place, y: Place) -> None:
    """One trace; x and y turn its values into places of the panel."""
    if trace["type"] == "bar":
        _draw_columns(panel, trace, x, y)
        return
    if trace["type"] == "heatmap":
        _draw_cells(panel, trace, x, y)
        return
    points = [
        None if b is None else (x(a), y(b)) for a, b in zip(trace["x"], trace["y"], strict=True)
    ]
    if "lines" in trace["mode"]:
        _draw_line(panel, trace, points)
    if "error_y" in trace:
        _draw_bars(panel, trace, x, y)
    if "markers" not in trace["mode"]:
        return
    known = [point for point in points if point is not None]
    if "marker" in trace:
        draw_markers(panel, trace["marker"], known)
        return
    # Points of a line are many: one path, whose round ends are the points.
    dots = "".join(f"M{brief(a)} {brief(b)}h0" for a, b in known)
    look = stroke({"color": trace["line"]["color"], "width": _POINT_PX})
    panel.path(dots, stroke_linecap="round", **look)


def draw_markers(panel: Surface, marker: Figure, places: Sequence[tuple[float, float]]) -> None:
    """Points by their symbol; told apart by shape as well as by colour."""
    half, color = marker["size"] / 2, marker["color"]
    symbol = marker.get("symbol", "circle")
    is_open = symbol.endswith("-open")
    look = {"fill": "none", **stroke(marker["line"])} if is_open else paint(color)
    if symbol.startswith("circle"):
        panel.circles(places, half, **look)
    else:
        panel.symbols(places, (_PATHS if is_open else _FILLED)[symbol](half), **look)


def draw_arrow(panel: Surface, color: str, x: float, y: float, length: float) -> None:
    """A hollow arrow upwards from a lower bound: the true value lies above."""
    head, wide = 9.0, 5.0

    def shape(x: float, y: float) -> str:
        tip = y - length
        corners = ((x - wide, tip + head), (x, tip), (x + wide, tip + head))
        return f"M{brief(x)} {brief(y)}V{brief(tip + head)}{path(corners)}Z"

    panel.symbols([(x, y)], shape, fill="none", **stroke({"color": color, "width": _ARROW_LINE}))


def path(points: Iterable[tuple[float, float] | None]) -> str:
    """Points joined by lines; None breaks the line. Points that fall together are drawn once, and
    those that lie on the line between others not at all."""
    made, last, pen = [], "", "M"
    for point in straightened(points):
        if point is None:
            pen = "M"
            continue
        here = f"{brief(point[0])} {brief(point[1])}"
        if pen == "M" or here != last:
            made.append(pen + here)
        last, pen = here, "L"
    return "".join(made)


def straightened(points: Iterable[Point | None]) -> list[Point | None]:
    """The points without those that lie within BESIDE of the line between their kept neighbours."""
    kept: list[Point | None] = []
    for is_known, run in groupby(points, key=lambda point: point is not None):
        kept += _bends([point for point in run if point]) if is_known else [None]
    return kept


def _bends(run: Sequence[Point]) -> list[Point]:
    """The ends of a line, and the points at which it has to bend."""
    kept, way = [run[0]], _Way(run[0])
    for before, point in pairwise(run):
        if not way.leads_to(point):
            kept.append(before)
            way = _Way(before)
        way.passes(point)
    return [*kept, run[-1]] if len(run) > 1 else kept


class _Way:
    """The straight ways from a point that pass all points since, each within BESIDE."""

    def __init__(self, start: Point) -> None:
        self._start = start
        self._ahead: float | None = None
        self._low, self._high, self._far = -math.pi, math.pi, 0.0

    def leads_to(self, point: Point) -> bool:
        """Whether one of them ends here, without having gone back."""
        far, turn = self._seen(point)
        return far >= self._far and self._low <= turn <= self._high

    def passes(self, point: Point) -> None:
        far, turn = self._seen(point)
        self._far = far
        if far > BESIDE:
            self._ahead = turn if self._ahead is None else self._ahead
            turn, aside = self._seen(point)[1], math.asin(BESIDE / far)
            self._low, self._high = max(self._low, turn - aside), min(self._high, turn + aside)

    def _seen(self, point: Point) -> tuple[float, float]:
        """How far a point is from the start, and in which direction, beside that of the first."""
        across, up = point[0] - self._start[0], point[1] - self._start[1]
        turn = math.atan2(up, across) - (self._ahead or 0.0)
        return math.hypot(across, up), math.remainder(turn, 2 * math.pi)


def _flat(half: float) -> Mark:
    return lambda x, y: f"M{brief(x - half)} {brief(y)}h{brief(2 * half)}"


def _upright(half: float) -> Mark:
    return lambda x, y: f"M{brief(x)} {brief(y - half)}v{brief(2 * half)}"


def _diamond(half: float) -> Mark:
    side = brief(half)
    around = f"l{side} {side}l-{side} {side}l-{side} -{side}Z"
    return lambda x, y: f"M{brief(x)} {brief(y - half)}{around}"


# Symbols that are lines; one that is missing here cannot be drawn.
_PATHS = {"line-ew-open": _flat, "line-ns-open": _upright, "diamond-open": _diamond}


def _corners(*shares: tuple[float, float]) -> Callable[[float], Mark]:
    """A filled shape by its corners, in halves of its size."""

    def sized(half: float) -> Mark:
        return lambda x, y: path((x + half * a, y + half * b) for a, b in shares) + "Z"

    return sized


_ARM = 0.4
_FILLED = {
    "square": _corners((-1, -1), (1, -1), (1, 1), (-1, 1)),
    "diamond": _corners((0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0)),
    "triangle-up": _corners((0, -1.1), (1.1, 0.8), (-1.1, 0.8)),
    "triangle-down": _corners((0, 1.1), (-1.1, -0.8), (1.1, -0.8)),
    "cross": _corners(
        *((-_ARM, -1), (_ARM, -1), (_ARM, -_ARM), (1, -_ARM), (1, _ARM), (_ARM, _ARM)),
        *((_ARM, 1), (-_ARM, 1), (-_ARM, _ARM), (-1, _ARM), (-1, -_ARM), (-_ARM, -_ARM)),
    ),
}


def _draw_line(panel: Surface, trace: Figure, points: Sequence[tuple[float, float] | None]) -> None:
    if trace.get("fill") == "toself":
        panel.path(path(points) + "Z", **paint(trace["fillcolor"]))
        return
    panel.path(path(points), fill="none", stroke_linejoin="round", **stroke(trace["line"]))


def _draw_bars(panel: Surface, trace: Figure, x: Place, y: Place) -> None:
    """Error bars, all of a trace in one path, and their ends in another.

    An end is a very short piece of a very thick line, which keeps its width in every picture.
    """
    bars = trace["error_y"]
    thick, made, ends = bars["thickness"], [], []
    for across, value, error in zip(trace["x"], trace["y"], bars["array"], strict=True):
        at, high, low = brief(x(across)), y(value + error), y(value - error)
        made.append(f"M{at} {brief(high)}V{brief(low)}")
        ends += [f"M{at} {brief(end - thick / 2)}v{brief(thick)}" for end in (high, low)]
    for paths, width in ((made, thick), (ends, 2 * bars["width"])):
        panel.path("".join(paths), fill="none", **stroke({"color": bars["color"], "width": width}))


def _draw_columns(panel: Surface, trace: Figure, x: Place, y: Place) -> None:
    """Bars from zero up, with a gap of a fifth as the chart library leaves it."""
    half, made = _half_step(trace["x"], x) * 0.8, []
    for across, value in zip(trace["x"], trace["y"], strict=True):
        left, right = brief(x(across) - half), brief(x(across) + half)
        made.append(f"M{left} {brief(y(0))}V{brief(y(value))}H{right}V{brief(y(0))}Z")
    panel.path("".join(made), **paint(trace["marker"]["color"]))


def _draw_cells(panel: Surface, trace: Figure, x: Place, y: Place) -> None:
    """Coloured cells, each with its number, so that no colour has to be read."""
    wide, tall = _half_step(trace["x"], x), _half_step(trace["y"], y)
    numbers = []
    for row, (values, texts) in enumerate(zip(trace["z"], trace["text"], strict=True)):
        for column, (value, text) in enumerate(zip(values, texts, strict=True)):
            if value is None:
                continue
            share = (value - trace["zmin"]) / (trace["zmax"] - trace["zmin"])
            under, over, part = mixed(trace["colorscale"], min(1.0, max(0.0, share)))
            at, level = x(trace["x"][column]), y(trace["y"][row])
            place = (at - wide, level - tall, 2 * wide, 2 * tall)
            panel.cell(*place, fill=under)
            if part:
                panel.cell(*place, fill=over, fill_opacity=f"{part:.2f}")
            numbers.append((text, at, level + 4))
    # Gaps between the cells.
    edges = "".join(f"M{brief(x(name) - wide)} 0v{brief(2000)}" for name in trace["x"])
    edges += "".join(f"M0 {brief(y(name) - tall)}h{brief(panel.wide)}" for name in trace["y"])
    gap = stroke({"color": theme.PAPER, "width": trace["xgap"]})
    panel.path(edges, **gap)
    for text, at, level in numbers:
        panel.text(text, at, level, text_anchor="middle", font_size=_CELL_TEXT)


def _half_step(names: Sequence[str], place: Place) -> float:
    """Half the distance of two names on an axis."""
    if len(names) < 2:
        return place(names[0]) if place(names[0]) else 1.0
    return abs(place(names[1]) - place(names[0])) / 2


def mixed(scale: Sequence[tuple[float, str]], share: float) -> tuple[str, str, float]:
    """The colour at a share of a scale: one of its colours, the next over it, and how opaque that
    is. So each of them can follow the look of the page; one that was mixed here could not."""
    upper = next(i for i, (at, _) in enumerate(scale) if at >= share)
    (low, under), (high, over) = scale[max(0, upper - 1)], scale[upper]
    return under, over, 0.0 if high <= low else (share - low) / (high - low)
