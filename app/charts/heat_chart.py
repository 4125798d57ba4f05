"""How warm a battery had it: hours at temperature, and a calendar of its months."""

from collections.abc import Sequence
from typing import Any

from app.analysis.temperature_history import MonthOfHeat
from app.charts import theme
from app.charts.chart import Chart

Figure = dict[str, Any]
STEP_C = 5
# Where the sentence draws the line: 25 °C is what ageing is compared with (method page).
WARM_C = 25
# The page keeps as much room for a chart before it is drawn.
SHORTEST_PX = 380
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
# From cool to warm.
_WARMTH = [[0.0, theme.COOL], [0.5, theme.MILD], [1.0, theme.WARM]]


def hours_chart(hours: Sequence[tuple[float, float]]) -> Figure:
    """Bars of hours in steps of five degrees."""
    labels = [f"{low:g} to {low + STEP_C:g}".replace("-", "−") for low, _ in hours]
    values = [round(count) for _, count in hours]
    bar: Figure = {
        "type": "bar",
        "name": "hours at this temperature",
        "x": labels,
        "y": values,
        "marker": {"color": theme.MEASURED},
        "hovertemplate": "%{y:,} h at %{x} °C<extra></extra>",
    }
    layout = theme.layout(
        SHORTEST_PX,
        margin={"l": 56, "r": 16, "t": 12, "b": 60},
        xaxis=theme.axis("temperature (°C)", type="category"),
        yaxis=theme.axis("hours", rangemode="tozero"),
        showlegend=False,
    )
    return {"data": [bar], "layout": layout}


def shown_hours(name: str, hours: Sequence[tuple[float, float]]) -> Chart | None:
    """The hours of the battery called name with their sentence, for a page; None without any."""
    if not hours:
        return None
    low, most = max(hours, key=lambda one: one[1])
    warm = sum(count for start, count in hours if start >= WARM_C)
    said = (
        f"Most hours, {most:,.0f}, at {low:g} to {low + STEP_C:g} °C, and {warm:,.0f} of "
        f"{sum(count for _, count in hours):,.0f} hours at {WARM_C} °C or more."
    )
    return Chart("hours", f"Hours of {name} at each temperature", _minus(said), hours_chart(hours))


def shown_calendar(name: str, months: Sequence[MonthOfHeat]) -> Chart | None:
    """The months of the battery called name with their sentence, for a page; None without any."""
    if not months:
        return None
    known = [(one.mean_c, one.month) for one in months if one.mean_c is not None]
    said = "Of no month a temperature is known."
    if known:
        (cool, winter), (warm, summer) = min(known), max(known)
        said = (
            f"Monthly means from {cool:.1f} °C in {winter:%B %Y} to {warm:.1f} °C in "
            f"{summer:%B %Y}, {len(known)} months known."
        )
    title = f"Mean temperature of each month of {name} in °C"
    return Chart("calendar", title, _minus(said), calendar_chart(months))


def _minus(words: str) -> str:
    return words.replace(" -", " −")


def calendar_chart(months: Sequence[MonthOfHeat]) -> Figure:
    """One cell a month: its mean as colour and as a number. Of a month of two stays the later."""
    known = {(one.month.year, one.month.month): one for one in months if one.mean_c is not None}
    years = list(range(months[0].month.year, months[-1].month.year + 1))
    means = [[_mean(known.get((year, month))) for month in range(1, 13)] for year in years]
    cells: Figure = {
        "type": "heatmap",
        "name": "mean of a month",
        "x": list(MONTHS),
        "y": [str(year) for year in years],
        "z": means,
        "text": [["" if v is None else f"{v:.0f}".replace("-", "−") for v in row] for row in means],
        "texttemplate": "%{text}",
        "textfont": {"color": theme.INK},
        "zmin": 0,
        "zmax": 45,
        "colorscale": _WARMTH,
        "xgap": 2,
        "ygap": 2,
        # Its cells say their numbers, and a telephone has no room for a scale of colours.
        "showscale": False,
        "colorbar": {"title": {"text": "mean °C"}},
        "hovertemplate": "%{x} %{y}: %{z:.1f} °C on average<extra></extra>",
    }
    layout = theme.layout(
        max(SHORTEST_PX, 110 + 38 * len(years)),
        margin={"l": 56, "r": 16, "t": 12, "b": 60},
        xaxis=theme.axis("month", type="category", showgrid=False),
        yaxis=theme.axis("year", type="category", autorange="reversed", showgrid=False),
    )
    return {"data": [cells], "layout": layout}


def _mean(one: MonthOfHeat | None) -> float | None:
    return None if one is None or one.mean_c is None else round(one.mean_c, 1)
