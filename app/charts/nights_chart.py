"""Nights without charging over the coming years."""

from collections.abc import Sequence

from app.analysis.nights.nights import Nights
from app.charts import theme
from app.charts.chart import Chart, sentence
from app.charts.theme import Figure
from app.charts.trace_styles import level_trace
from app.domain.i18n.message import say


def nights_chart(name: str, course: Sequence[Nights], wanted: float | None) -> Chart | None:
    """The nights of the battery called name with their sentence, for a page."""
    figure = nights_figure(course, wanted)
    if figure is None:
        return None
    known = [one for one in course if one.nights.middle is not None and one.on_date is not None]
    first, last = known[0], known[-1]
    said = sentence(
        _in_month(first),
        _in_month(last) if last is not first else "",
        "" if wanted is None else say("asked for: {wanted:g}", wanted=wanted),
    )
    return Chart("nights", say("Nights without charging with {name}", name=name), said, figure)


def _in_month(one: Nights) -> str:
    return say("{month:%B %Y}: {nights}", month=one.on_date, nights=one.words)


def nights_figure(course: Sequence[Nights], wanted: float | None) -> Figure | None:
    """A Plotly figure as plain data: the middle with its 90 % band; None without a course."""
    points = [one for one in course if one.nights.middle is not None and one.on_date is not None]
    if not points:
        return None
    traces = _course(points)
    labels: list[Figure] = []
    if wanted is not None:
        traces.append(level_trace(say("{count:g} nights", count=wanted), traces[-1]["x"], wanted))
        label = say("asked for: {wanted:g}", wanted=wanted)
        labels.append(theme.level_label(label, wanted, theme.THRESHOLD, "right"))
    layout = theme.layout(
        400,
        annotations=labels,
        margin={"l": 56, "r": 16, "t": 12, "b": 100},
        xaxis=theme.axis(say("date"), type="date"),
        yaxis=theme.axis(say("nights without charging"), rangemode="tozero"),
    )
    return {"data": traces, "layout": layout}


def _course(points: Sequence[Nights]) -> list[Figure]:
    """The band and its middle."""
    dates = [one.on_date.isoformat() for one in points if one.on_date is not None]
    low = [round(one.nights.low or 0.0, 3) for one in points]
    high = [round(one.nights.high or 0.0, 3) for one in points]
    middle = [round(one.nights.middle or 0.0, 3) for one in points]
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": say("90 % of such batteries stay inside"),
            "x": dates + dates[::-1],
            "y": high + low[::-1],
            "fill": "toself",
            "fillcolor": theme.BAND,
            "line": {"width": 0},
            "hoverinfo": "skip",
        },
        {
            "type": "scatter",
            "mode": "lines",
            "name": say("half of such batteries do more"),
            "x": dates,
            "y": middle,
            "line": {"color": theme.MEASURED, "width": 2},
            "hovertemplate": theme.hover(say("%{y:.1f} nights"), "%{x|%b %Y}"),
        },
    ]
