"""The key of a picture: what each trace looks like, with its name."""

import html

from app.charts import theme
from app.charts.svg_element import TEXT, Element, add, paint, stroke, text_width
from app.charts.svg_marks import draw_arrow, draw_markers
from app.charts.svg_surface import Surface
from app.charts.theme import Figure

KEY_LINE = 20.0
_SAMPLE = 26.0


def key_rows(figure: Figure, width: float) -> list[list[tuple[float, Figure]]]:
    """The traces that the key names, line by line, each with where it starts."""
    rows: list[list[tuple[float, Figure]]] = []
    at = width
    for trace in figure["data"]:
        if not trace.get("showlegend", True):
            continue
        needed = _SAMPLE + 6 + text_width(html.unescape(trace["name"]), TEXT) + 12
        if not rows or at + needed > width:
            rows.append([])
            at = 2.0
        rows[-1].append((at, trace))
        at += needed
    return rows


def draw_key(root: Element, rows: list[list[tuple[float, Figure]]], top: float) -> None:
    """Draw the rows of the key below each other, each trace with a sample of it; top in px."""
    for number, row in enumerate(rows):
        middle = top + KEY_LINE * (number + 0.5)
        for x, trace in row:
            _draw_sample(root, trace, x, middle)
            left = x + _SAMPLE + 6
            add(root, "text", html.unescape(trace["name"]), x=left, y=middle + 4.5)


def _draw_sample(root: Element, trace: Figure, x: float, y: float) -> None:
    """What a trace looks like, in little."""
    panel = Surface(root, root, 1.0)
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
        draw_markers(panel, trace["marker"], [(centre, y + 7)])
        draw_arrow(panel, trace["marker"]["color"], centre, y + 7, 16)
    else:
        draw_markers(panel, trace["marker"], [(centre, y)])
