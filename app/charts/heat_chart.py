"""How warm a battery had it: hours at temperature, and a calendar of its months."""

from collections.abc import Sequence
from typing import Any

from app.analysis.temperature_history import MonthOfHeat
from app.charts import theme
from app.charts.chart import Chart
from app.domain.saying import say

Figure = dict[str, Any]
STEP_C = 5
# Where the sentence draws the line: 25 °C is what ageing is compared with (method page).
WARM_C = 25
# The page keeps as much room for a chart before it is drawn.
SHORTEST_PX = 380
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
# From cool to warm, by lightness too, so that grey print and colour-blind eyes order them alike.
_WARMTH = [[0.0, "#e8eef0"], [0.5, "#e2b26a"], [1.0, "#6d1f2a"]]


def hours_chart(hours: Sequence[tuple[float, float]]) -> Figure:
    """Bars of hours in steps of five degrees."""
    labels = [
        say("{low:g} to {low_2:g}", low=low, low_2=low + STEP_C).replace("-", "−")
        for low, _ in hours
    ]
    values = [round(count) for _, count in hours]
    bar: Figure = {
        "type": "bar",
        "name": say("hours at this temperature"),
        "x": labels,
        "y": values,
        "marker": {"color": theme.MEASURED},
        "hovertemplate": say("%{y:,} h at %{x} °C<extra></extra>"),
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
    said = say(
        "Most hours, {most:,.0f}, at {low:g} to {low_2:g} °C, and {warm:,.0f} of "
        "{sum:,.0f} hours at {warm_c} °C or more.",
        most=most,
        low=low,
        low_2=low + STEP_C,
        warm=warm,
        sum=sum((count for _, count in hours)),
        warm_c=WARM_C,
    )
    return Chart(
        "hours",
        say("Hours of {name} at each temperature", name=name),
        _minus(said),
        hours_chart(hours),
    )


def shown_calendar(name: str, months: Sequence[MonthOfHeat]) -> Chart | None:
    """The months of the battery called name with their sentence, for a page; None without any."""
    if not months:
        return None
    known = [(one.mean_c, one.month) for one in months if one.mean_c is not None]
    said = say("Of no month a temperature is known.")
    if known:
        (cool, winter), (warm, summer) = min(known), max(known)
        said = say(
            "Monthly means from {cool:.1f} °C in {winter:%B %Y} to {warm:.1f} °C in "
            "{summer:%B %Y}, {known} months known.",
            cool=cool,
            winter=winter,
            warm=warm,
            summer=summer,
            known=len(known),
        )
    title = say("Mean temperature of each month of {name} in °C", name=name)
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
        "name": say("mean of a month"),
        "x": list(MONTHS),
        "y": [str(year) for year in years],
        "z": means,
        "text": [["" if v is None else f"{v:.0f}".replace("-", "−") for v in row] for row in means],
        "texttemplate": "%{text}",
        "zmin": 0,
        "zmax": 45,
        "colorscale": _WARMTH,
        "xgap": 2,
        "ygap": 2,
        "colorbar": {"title": {"text": "mean °C"}, "thickness": 12},
        "hovertemplate": say("%{x} %{y}: %{z:.1f} °C on average<extra></extra>"),
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
