"""How measured values, lower bounds and levels look wherever they are drawn."""

from collections.abc import Iterable, Sequence

from app.charts import theme
from app.charts.data_table import LOWER_BOUNDS
from app.charts.theme import Figure

# So many points can be told apart on a telephone; of more the line alone is drawn, or less of each.
FEW_POINTS = 60


def line_mode(count: int) -> str:
    """How a line through so many readings is drawn."""
    return "lines+markers" if count <= FEW_POINTS else "lines"


def error_bars(
    reaches: Iterable[float], color: str, thickness: float = 1.2, width: float = 4
) -> Figure:
    """Bars to both sides of measured values, in the unit of their axis; widths in px."""
    return {
        "type": "data",
        "array": [round(reach, 3) for reach in reaches],
        "color": color,
        "thickness": thickness,
        "width": width,
    }


def bound_marks(color: str, size_px: float) -> Figure:
    """What makes markers those of lower bounds: a bar to stand on, and never rounded up."""
    return {
        "mode": "markers",
        "meta": LOWER_BOUNDS,
        "marker": open_marker("line-ew-open", size_px, color, 3),
    }


def open_marker(symbol: str, size_px: float, color: str, width_px: float = 1.8) -> Figure:
    """A marker of lines. The library draws them as thin as it can where they have no width."""
    line = {"width": width_px, "color": color}
    return {"symbol": symbol, "size": size_px, "color": color, "line": line}


def bound_arrow(x: float | str, y: float, color: str, length_px: int) -> Figure:
    """The true value lies above, how far is not known."""
    return {
        "x": x,
        "y": y,
        "yshift": length_px,
        "ax": 0,
        "ay": length_px,
        "text": "",
        "showarrow": True,
        "arrowhead": 2,
        "arrowwidth": 2,
        "arrowcolor": color,
    }


def level_trace(name: str, ends: Sequence[float | str], level: float, dash: str = "dash") -> Figure:
    """A level not to fall below, from one end to the other; its label stands elsewhere."""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "showlegend": False,
        "x": [ends[0], ends[-1]],
        "y": [level, level],
        "line": {"color": theme.THRESHOLD, "width": 1.5, "dash": dash},
        "hoverinfo": "skip",
    }
