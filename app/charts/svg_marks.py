"""Lines, bands, points and arrows of a figure inside one panel of a picture."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from app.charts.svg_element import Element, add, brief, paint, stroke

Place = Callable[[Any], float]
Mark = Callable[[float, float], str]
Figure = dict[str, Any]
_POINT_PX = 6
_OPEN_LINE = 1.8


def draw_trace(panel: Element, trace: Figure, x: Place, y: Place) -> None:
    """One trace; x and y turn its values into places of the panel."""
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
    add(panel, "path", d=dots, stroke_linecap="round", **look)


def draw_markers(panel: Element, marker: Figure, places: Sequence[tuple[float, float]]) -> None:
    """Points by their symbol; told apart by shape as well as by colour."""
    half, color = marker["size"] / 2, marker["color"]
    symbol = marker.get("symbol", "circle")
    line = stroke({"width": _OPEN_LINE, "color": color} | marker.get("line", {}))
    if symbol in ("circle", "circle-open"):
        look = paint(color) if symbol == "circle" else {"fill": "none", **line}
        for x, y in places:
            add(panel, "circle", cx=x, cy=y, r=half, **look)
        return
    there = _PATHS[symbol](half)
    paths = "".join(there(x, y) for x, y in places)
    add(panel, "path", d=paths, fill="none", **line)


def draw_arrow(panel: Element, color: str, x: float, y: float, length: float) -> None:
    """A hollow arrow upwards from a lower bound: the true value lies above."""
    head, wide, tip = 9.0, 5.0, y - length
    shaft = f"M{brief(x)} {brief(y)}V{brief(tip + head)}"
    corners = ((x - wide, tip + head), (x, tip), (x + wide, tip + head))
    line = stroke({"color": color, "width": _OPEN_LINE})
    add(panel, "path", d=f"{shaft}{path(corners)}Z", fill="none", **line)


def path(points: Iterable[tuple[float, float] | None]) -> str:
    """Points joined by lines; None breaks the line. Points that fall together are drawn once."""
    made, last, pen = [], "", "M"
    for point in points:
        if point is None:
            pen = "M"
            continue
        here = f"{brief(point[0])} {brief(point[1])}"
        if pen == "M" or here != last:
            made.append(pen + here)
        last, pen = here, "L"
    return "".join(made)


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


def _draw_line(panel: Element, trace: Figure, points: Sequence[tuple[float, float] | None]) -> None:
    if trace.get("fill") == "toself":
        add(panel, "path", d=path(points) + "Z", **paint(trace["fillcolor"]))
        return
    add(
        panel, "path", d=path(points), fill="none", stroke_linejoin="round", **stroke(trace["line"])
    )


def _draw_bars(panel: Element, trace: Figure, x: Place, y: Place) -> None:
    """Error bars, all of a trace in one path."""
    bars = trace["error_y"]
    half, made = bars["width"], []
    for across, value, error in zip(trace["x"], trace["y"], bars["array"], strict=True):
        left, right = brief(x(across) - half), brief(x(across) + half)
        low, high = brief(y(value - error)), brief(y(value + error))
        made.append(f"M{left} {high}H{right}M{brief(x(across))} {high}V{low}M{left} {low}H{right}")
    line = {"color": bars["color"], "width": bars["thickness"]}
    add(panel, "path", d="".join(made), fill="none", **stroke(line))
