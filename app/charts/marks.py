"""How a measured value and a lower bound look wherever they are drawn."""

from collections.abc import Iterable
from typing import Any

from app.charts.numbers import LOWER_BOUNDS

Figure = dict[str, Any]


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
        "marker": {
            "size": size_px,
            "symbol": "line-ew-open",
            "color": color,
            "line": {"width": 3, "color": color},
        },
    }


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
