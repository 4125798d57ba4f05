"""One look for every chart: colours by role, as the light look has them.

Figures are plain data and carry these; static/chart.js puts the colours of the page's look in
their place, which static/tokens.css holds under the names in ROLES (a test holds both the same).
"""

from collections.abc import Sequence
from typing import Any

from app.domain.i18n.message import joined, month_names

# A chart, or a part of one, as the plain data that the chart library takes.
Figure = dict[str, Any]

PAPER = "#fbf8f1"
INK = "#22303a"
# What is beside the matter: rated level, axes, events; and the lines behind everything.
MUTED = "#616c76"
GRID = "#e3ded2"
# A measured value, the lower bound, where the true value may be (90 % and 50 %).
MEASURED = "#1f5d78"
BOUND = "#8f5300"
BAND = "rgba(31, 93, 120, 0.14)"
INNER_BAND = "rgba(31, 93, 120, 0.22)"
# What the label promises; what must not be fallen below, and when that may be.
EXPECTED = "#737983"
THRESHOLD = "#8c2f39"
SPAN = "rgba(140, 47, 57, 0.75)"
# Months from cool to warm, by lightness too, so that grey print and colour-blind eyes order them
# alike; numbers are written on them in ink.
COOL = "#e6eef1"
MILD = "#efc482"
WARM = "#df7f45"

# Colour, symbol and dash of things laid over one another, up to six. The colours were chosen by
# their least distance as seen with full colour vision and with each of its three kinds of
# deficiency; each has a contrast of 4.5 or more on the page, because names are written in them
# (tests/charts/test_comparison_chart.py).
SERIES = (
    ("#114760", "circle", "solid"),
    ("#9f5460", "square", "dash"),
    ("#3d1d82", "diamond", "dot"),
    ("#697000", "triangle-up", "dashdot"),
    ("#7a1a26", "cross", "longdash"),
    ("#006eb6", "triangle-down", "longdashdot"),
)
# The ends of by_age.
_PALE, _DARK = (131, 139, 135), (18, 60, 84)

ROLES = {
    PAPER: "--paper",
    INK: "--ink",
    MUTED: "--chart-muted",
    GRID: "--chart-grid",
    MEASURED: "--chart-measured",
    BOUND: "--chart-bound",
    BAND: "--chart-band",
    INNER_BAND: "--chart-inner-band",
    EXPECTED: "--chart-expected",
    THRESHOLD: "--chart-threshold",
    SPAN: "--chart-span",
    COOL: "--chart-cool",
    MILD: "--chart-mild",
    WARM: "--chart-warm",
    **{one[0]: f"--chart-series-{number}" for number, one in enumerate(SERIES, start=1)},
}

# Around the plots (px): numbers on the left, the name of an axis above and below. static/charts.css
# gives the server's picture the same room on both sides.
LEFT_PX, RIGHT_PX, TOP_PX, BOTTOM_PX = 48, 14, 28, 44
# Under an axis of dates, which needs no name.
UNDER_DATES_PX = 26

FONT = "system-ui, -apple-system, 'Segoe UI', Roboto, sans-serif"


def by_age(share: float) -> str:
    """A colour from pale (0, the oldest) to dark (1, the newest)."""
    mixed = (round(a + share * (b - a)) for a, b in zip(_PALE, _DARK, strict=True))
    return f"rgb({', '.join(str(part) for part in mixed)})"


def hover(*lines: str) -> str:
    """What a point says of itself, without the library's second box for the trace's name."""
    return joined("", (joined("<br>", lines), "<extra></extra>"))


def roles() -> dict[str, Any]:
    """What a script needs to put other colours in the place of these."""
    return {"colors": ROLES, "age": [by_age(0), by_age(1)]}


def layout(height: int, **more: Any) -> dict[str, Any]:
    """Common layout; axes are added by each chart."""
    made: dict[str, Any] = {
        # The script's library knows the months in English only.
        "meta": {"roles": roles(), "months": [month_names(), month_names(short=True)]},
        "separators": ".,",
        "height": height,
        "margin": {"l": LEFT_PX, "r": RIGHT_PX, "t": TOP_PX, "b": BOTTOM_PX},
        "paper_bgcolor": "rgba(0,0,0,0)",
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": FONT, "size": 13, "color": INK},
        "hovermode": "closest",
        "dragmode": False,
        # What is drawn has its name beside it or in the caption.
        "showlegend": False,
    }
    return made | more


def axis(title: str, **more: Any) -> dict[str, Any]:
    """An axis with its title and unit."""
    made: dict[str, Any] = {
        "title": {"text": title, "standoff": 8},
        "gridcolor": GRID,
        "linecolor": MUTED,
        "zeroline": False,
        # The library marks the names around coloured cells, which pushes these away.
        "ticks": "",
        # The server's picture has the same margins, so that nothing moves.
        "automargin": False,
        "fixedrange": True,
    }
    return made | more


def over_dates(height: int, above: int = 0, **more: Any) -> dict[str, Any]:
    """The layout of a chart over dates, in whose years one may zoom; above is room for events."""
    made = layout(height + above, **more)
    made["margin"] |= {"t": TOP_PX + above, "b": UNDER_DATES_PX}
    made["xaxis"]["fixedrange"] = False
    return made


def panels(heights: Sequence[int], gap: int) -> tuple[int, list[list[float]]]:
    """The height of a chart of panels one above the other, and the share of it that each takes."""
    plots = sum(heights) + gap * (len(heights) - 1)
    tops = [plots - sum(heights[:i]) - gap * i for i in range(len(heights))]
    shares = [[(t - h) / plots, t / plots] for t, h in zip(tops, heights, strict=True)]
    return plots + TOP_PX + BOTTOM_PX, shares


def band(
    name: str,
    x: Sequence[Any],
    lower: Sequence[float],
    upper: Sequence[float],
    color: str = BAND,
) -> Figure:
    """An interval along an axis as one closed shape."""
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": [*x, *reversed(x)],
        "y": [*upper, *reversed(lower)],
        "fill": "toself",
        "fillcolor": color,
        "line": {"width": 0},
        "hoverinfo": "skip",
    }


def label(
    text: str, x: float | str, y: float, color: str, place: tuple[str, str] = ("left", "bottom")
) -> dict[str, Any]:
    """A name beside what it names; place says which of its ends and edges lies there."""
    return {
        "x": x,
        "xanchor": place[0],
        "xshift": {"left": 4, "right": -4}.get(place[0], 0),
        "y": y,
        "yanchor": place[1],
        "text": text,
        "showarrow": False,
        "borderpad": 0,
        "font": {"color": color, "size": 12},
    }


def level_label(
    text: str, value: float, color: str, side: str = "left", edge: str = "bottom"
) -> dict[str, Any]:
    """The name of a level on its line, at the left or right edge of the first panel."""
    at = 1 if side == "right" else 0
    return label(text, at, value, color, (side, edge)) | {"xref": "paper"}
