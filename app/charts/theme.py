"""One look for every chart: colours by role, as the light look has them.

Figures are plain data and carry these; static/chart.js puts the colours of the page's look in
their place, which static/tokens.css holds under the names in ROLES (a test holds both the same).
"""

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
