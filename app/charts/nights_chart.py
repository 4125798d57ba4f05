"""Nights without charging over the coming years."""

from collections.abc import Sequence
from datetime import date, timedelta
from functools import partial

from app.analysis.nights.nights import Nights
from app.charts import theme
from app.charts.chart import Chart, sentence
from app.charts.label_placement import LabelPlot, LabelPosition, along, on_level, placed
from app.charts.theme import Figure
from app.charts.trace_styles import level_trace
from app.domain.i18n.message import ENGLISH, Reader, say

_HEIGHT_PX = 340
_PLOT_PX = _HEIGHT_PX - theme.TOP_PX - theme.UNDER_DATES_PX
# Above the highest value.
_ROOM = 1.06


def nights_chart(name: str, course: Sequence[Nights], wanted: float | None) -> Chart | None:
    """The nights of the battery called name with their sentence, for a page."""
    known = _known(course)
    if not known:
        return None
    first, last = known[0], known[-1]
    said = sentence(
        _in_month(first),
        _in_month(last) if last is not first else "",
        "" if wanted is None else say("asked for: {wanted:g}", wanted=wanted),
    )
    title = say("Nights without charging with {name}", name=name)
    caption = say("At today’s use. Shaded: 9 in 10 such batteries.")
    note = say(
        "9 in 10 such batteries stay inside the band; 1 in 2 does more than the line in its middle."
    )
    return Chart("nights", title, said, partial(_figure, known, wanted), caption, note)


def _in_month(one: Nights) -> str:
    return say("{month:%B %Y}: {nights}", month=one.on_date, nights=one.words)


def nights_figure(
    course: Sequence[Nights], wanted: float | None, reader: Reader = ENGLISH
) -> Figure | None:
    """A Plotly figure as plain data: the middle with its 90 % band; None without a course."""
    points = _known(course)
    return _figure(points, wanted, reader) if points else None


def _known(course: Sequence[Nights]) -> list[Nights]:
    return [one for one in course if one.nights.middle is not None and one.on_date is not None]


def _figure(points: Sequence[Nights], wanted: float | None, reader: Reader) -> Figure:
    traces = _course(points)
    ends = [one.on_date for one in (points[0], points[-1]) if one.on_date is not None]
    highest = _ROOM * max(*traces[0]["y"], wanted or 0.0)
    if wanted is not None:
        traces.append(level_trace(say("{count:g} nights", count=wanted), traces[-1]["x"], wanted))
    first, last = ends[0], max(ends[-1], ends[0] + timedelta(days=1))
    layout = theme.over_dates(
        _HEIGHT_PX,
        annotations=_labels(traces, (first, last), highest, wanted, reader),
        xaxis=theme.axis(say("date"), type="date", range=[str(first), str(last)]),
        yaxis=theme.axis(say("nights without charging"), range=[0, round(highest, 3)]),
    )
    return {"data": traces, "layout": layout}


def _labels(
    traces: Sequence[Figure],
    ends: tuple[date, date],
    highest: float,
    wanted: float | None,
    reader: Reader,
) -> list[Figure]:
    """The number asked for, the middle and the band by their names, where these have room."""
    days = [date.fromisoformat(day).toordinal() for day in traces[1]["x"]]
    across = (ends[0].toordinal(), ends[1].toordinal())
    plot = LabelPlot(across, (0.0, highest), _PLOT_PX, reader)
    count = len(days)
    upper, lower = traces[0]["y"][:count], traces[0]["y"][: count - 1 : -1]
    middle = traces[1]["y"]
    for edge in (upper, lower, middle):
        plot.draw(list(zip(days, edge, strict=True)))
    labels = []
    if wanted is not None:
        plot.draw([(days[0], wanted), (days[-1], wanted)])
        text = say("asked for: {wanted:g}", wanted=wanted)
        best = plot.best(text, on_level(wanted, (days[0], days[-1])))
        labels.append(placed(text, best, theme.THRESHOLD, _day(best)))
    backwards = list(zip(days, upper, middle, lower, strict=True))[::-1]
    of_middle = along(list(zip(days, middle, strict=True)), ("right", "bottom"), ("right", "top"))
    of_band = [
        LabelPosition(day, (level + other) / 2, "right", "middle", 0, -3)
        for day, high, level, low in backwards
        for other in (high, low)
    ]
    for text, spots in ((say("middle: 1 in 2"), of_middle), (say("9 in 10"), of_band)):
        spot = plot.clear(text, spots)
        if spot is not None:
            labels.append(placed(text, spot, theme.MEASURED, _day(spot)))
    return labels


def _day(spot: LabelPosition) -> str:
    return date.fromordinal(int(spot.x)).isoformat()


def _course(points: Sequence[Nights]) -> list[Figure]:
    """The band and its middle."""
    dates = [one.on_date.isoformat() for one in points if one.on_date is not None]
    low = [round(one.nights.low or 0.0, 3) for one in points]
    high = [round(one.nights.high or 0.0, 3) for one in points]
    middle = [round(one.nights.middle or 0.0, 3) for one in points]
    return [
        theme.band(say("90 % of such batteries stay inside"), dates, low, high),
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
