"""How warm a battery had it: hours at temperature, and a calendar of its months."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from app.analysis.ageing.temperature_history import MonthOfHeat
from app.charts import theme
from app.charts.chart import Chart
from app.charts.theme import Figure
from app.domain.i18n.message import Celsius, CelsiusRange, month_names, say, written_number

STEP_C = 5
# Where the sentence draws the line: 25 °C is what ageing is compared with (method page).
WARM_C = 25
_HEIGHT_PX = 320
# A row of the calendar.
_YEAR_PX = 34
# From cool to warm.
_WARMTH = [[0.0, theme.COOL], [0.5, theme.MILD], [1.0, theme.WARM]]


def temperature_hours_figure(hours: Sequence[tuple[float, float]]) -> Figure:
    """Bars of hours in steps of five degrees."""
    labels = [say("{low:g} to {high:g}", low=low, high=low + STEP_C) for low, _ in hours]
    values = [round(count) for _, count in hours]
    bar: Figure = {
        "type": "bar",
        "name": say("hours at this temperature"),
        "showlegend": False,
        "x": labels,
        "y": values,
        "marker": {"color": theme.MEASURED},
        "hovertemplate": theme.hover(say("%{y:,} h at %{x} °C")),
    }
    layout = theme.layout(
        _HEIGHT_PX,
        xaxis=theme.axis(say("temperature (°C)"), type="category", **_every(3)),
        yaxis=theme.axis(say("hours"), rangemode="tozero"),
    )
    return {"data": [bar], "layout": layout}


def temperature_hours_chart(name: str, hours: Sequence[tuple[float, float]]) -> Chart | None:
    """The hours of the battery called name with their sentence, for a page; None without any."""
    if not hours:
        return None
    low, most = max(hours, key=lambda one: one[1])
    warm = sum(count for start, count in hours if start >= WARM_C)
    said = say(
        "Most hours, {most:,.0f}, at {range:g}, and {warm:,.0f} of "
        "{all:,.0f} hours at {warm_from:g} or more.",
        most=most,
        range=CelsiusRange(low, low + STEP_C),
        warm=warm,
        all=sum(count for _, count in hours),
        warm_from=Celsius(WARM_C),
    )
    title = say("Hours of {name} at each temperature", name=name)
    return Chart("hours", title, said, lambda _: temperature_hours_figure(hours))


def temperature_calendar_chart(name: str, months: Sequence[MonthOfHeat]) -> Chart | None:
    """The months of the battery called name with their sentence, for a page; None without any."""
    if not months:
        return None
    known = [(mean_c, month) for month, mean_c in _month_means(months).items()]
    said = say("No temperature is known for any month.")
    if known:
        (cool, winter), (warm, summer) = min(known), max(known)
        said = say(
            "Monthly means from {coolest:.1f} in {winter:%B %Y} to {warmest:.1f} in "
            "{summer:%B %Y}, {count} months known.",
            coolest=Celsius(cool),
            winter=winter,
            warmest=Celsius(warm),
            summer=summer,
            count=len(known),
        )
    title = say("Mean temperature of each month of {name} in °C", name=name)
    return Chart("calendar", title, said, lambda _: temperature_calendar_figure(months))


def temperature_calendar_figure(months: Sequence[MonthOfHeat]) -> Figure:
    """One cell a month: its mean as colour and as a number."""
    known = {month: round(mean_c, 1) for month, mean_c in _month_means(months).items()}
    years = list(range(months[0].month.year, months[-1].month.year + 1))
    means = [[known.get(date(year, month, 1)) for month in range(1, 13)] for year in years]
    cells: Figure = {
        "type": "heatmap",
        "name": say("mean of a month"),
        "showlegend": False,
        "x": list(month_names(short=True)),
        "y": [str(year) for year in years],
        "z": means,
        "text": [["" if v is None else written_number(v, ".0f") for v in row] for row in means],
        "texttemplate": "%{text}",
        "textfont": {"color": theme.INK},
        "zmin": 0,
        "zmax": 45,
        "colorscale": _WARMTH,
        "xgap": 2,
        "ygap": 2,
        # Its cells say their numbers, and a telephone has no room for a scale of colours.
        "showscale": False,
        "colorbar": {"title": {"text": say("mean °C")}},
        "hovertemplate": theme.hover(say("%{x} %{y}: %{z:.1f} °C on average")),
    }
    layout = theme.layout(
        theme.TOP_PX + theme.BOTTOM_PX + _YEAR_PX * len(years),
        xaxis=theme.axis(say("month"), type="category", showgrid=False, **_every(2)),
        yaxis=theme.axis(say("year"), type="category", autorange="reversed", showgrid=False),
    )
    return {"data": [cells], "layout": layout}


def _every(step: int) -> Figure:
    """So many labels of a kind as a telephone has room for, without turning them."""
    return {"dtick": step, "tick0": 0, "tickangle": 0}


def _month_means(months: Sequence[MonthOfHeat]) -> dict[date, float]:
    """The mean of each month over its known hours, wherever the battery spent them."""
    hours: dict[date, int] = defaultdict(int)
    degree_hours: dict[date, float] = defaultdict(float)
    for one in months:
        if one.mean_c is not None:
            hours[one.month] += one.known_h
            degree_hours[one.month] += one.known_h * one.mean_c
    return {month: degree_hours[month] / hours[month] for month in hours}
