"""One look for every chart."""

from typing import Any

PAPER = "#fbf8f1"
INK = "#22303a"
MUTED = "#6b7680"
GRID = "#e3ded2"
MEASURED = "#1f5d78"
BOUND = "#9a5a00"
BAND = "rgba(31, 93, 120, 0.14)"
INNER_BAND = "rgba(31, 93, 120, 0.22)"
EXPECTED = "#8a8f98"
THRESHOLD = "#8c2f39"
SPAN = "rgba(140, 47, 57, 0.75)"

# Colour, symbol and dash of things laid over one another, up to six. The colours were chosen by
# their least distance as seen with full colour vision and with each of its three kinds of
# deficiency; each has a contrast of 3 or more on the page (tests/charts/test_comparison_chart.py).
SERIES = (
    ("#1f5d78", "circle", "solid"),
    ("#cc6677", "square", "dash"),
    ("#332288", "diamond", "dot"),
    ("#7a7f00", "triangle-up", "dashdot"),
    ("#8c2f39", "cross", "longdash"),
    ("#3b8fc2", "triangle-down", "longdashdot"),
)

FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, sans-serif"


_PALE, _DARK = (196, 203, 198), (18, 60, 84)


def by_age(share: float) -> str:
    """A colour from pale (0, the oldest) to dark (1, the newest)."""
    mixed = (round(a + share * (b - a)) for a, b in zip(_PALE, _DARK, strict=True))
    return f"rgb({', '.join(str(part) for part in mixed)})"


def layout(height: int, **more: Any) -> dict[str, Any]:
    """Common layout; axes are added by each chart."""
    made: dict[str, Any] = {
        "height": height,
        "margin": {"l": 56, "r": 16, "t": 12, "b": 130},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": FONT, "size": 13, "color": INK},
        "hovermode": "closest",
        "dragmode": False,
        "legend": {"orientation": "h", "x": 0, "yref": "container", "y": 0, "yanchor": "bottom"},
    }
    return made | more


def axis(title: str, **more: Any) -> dict[str, Any]:
    """An axis with its title and unit."""
    made: dict[str, Any] = {
        "title": {"text": title, "standoff": 8},
        "gridcolor": GRID,
        "linecolor": MUTED,
        "zeroline": False,
        "automargin": True,
        "fixedrange": True,
    }
    return made | more


def level_label(text: str, value: float, color: str, side: str = "left") -> dict[str, Any]:
    """The name of a level on its line, at the left or right edge of the first panel."""
    return {
        "xref": "paper",
        "x": 1 if side == "right" else 0,
        "xanchor": side,
        "y": value,
        "yanchor": "bottom",
        "text": text,
        "showarrow": False,
        "font": {"color": color, "size": 12},
    }
