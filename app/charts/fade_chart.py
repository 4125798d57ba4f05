"""The fade across years: tests with their uncertainty, trend with band, threshold, end of life."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np

from app.analysis.battery.battery_report import TestSummary
from app.analysis.fade.fade import Fade
from app.analysis.projection.end_of_life import EndOfLife
from app.charts import theme
from app.charts.capacity_scale import capacity_range
from app.charts.event_marks import event_marks
from app.charts.fade_labels import draw_obstacles, level_labels, test_labels
from app.charts.label_placement import LabelPlot
from app.charts.projection_marks import (
    drawn_until,
    fan_points,
    open_end,
    projection_labels,
    projection_traces,
)
from app.charts.theme import Figure
from app.charts.trace_styles import FEW_POINTS, bound_arrow, bound_marks, error_bars, open_marker
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import ENGLISH, Reader, say

BAND_POINTS = 60
ARROW_PX = 26
PLOT_PX = 320
_HOVER_DAY = "%{x|%d %b %Y}"


def fade_figure(
    tests: Sequence[TestSummary],
    fade: Fade,
    end: EndOfLife | None,
    rated_ah: float,
    events: Sequence[tuple[date, str]],
    today: date | None = None,
    reader: Reader = ENGLISH,
) -> Figure:
    """A Plotly figure as plain data (traces and layout). end is None where it is not shown."""
    threshold_ah = None if end is None else end.threshold_ah
    counted = [test for test in tests if not test.left_out_reason]
    measured = [test for test in counted if test.kind is EvidenceKind.MEASURED]
    bounds = [test for test in counted if test.kind is EvidenceKind.AT_LEAST]
    left_out = [test for test in tests if test.left_out_reason]
    points = () if end is None else fan_points(end, fade)
    traces = [*([] if end is None else projection_traces(end, points)), *_trend(fade)]
    if measured:
        traces.append(_measured(measured))
    if bounds:
        traces.append(_bounds(bounds))
    if left_out:
        traces.append(_left_out(left_out))
    if noted := [test for test in counted if test.only_result and test in (*measured, *bounds)]:
        traces.append(_noted(noted))
    first, last = _shown_dates(tests, fade, end, [day for day, _ in events], today)
    marks = event_marks(events, first, last, today, reader)
    scale = capacity_range(tests, rated_ah, threshold_ah)
    plot = LabelPlot((first.toordinal(), last.toordinal()), scale, PLOT_PX, reader)
    draw_obstacles(plot, tests, fade, points, today)
    for day, _ in events:
        plot.draw_thin(day.toordinal())
    named = []
    if end is not None:
        named = projection_labels(end, points, last, tests[0].started_at.date(), plot)
    named += level_labels(threshold_ah, rated_ah, (first, last), plot, today)
    named += test_labels(bounds, left_out, plot)
    layout = theme.over_dates(
        PLOT_PX + theme.TOP_PX + theme.UNDER_DATES_PX,
        marks.room_px,
        xaxis=theme.axis(say("date of the test"), type="date", range=[str(first), str(last)]),
        yaxis=theme.axis(say("capacity (Ah)"), range=list(scale)),
        shapes=[
            *_levels(threshold_ah, rated_ah),
            *([] if end is None else open_end(end, last)),
            *marks.shapes,
        ],
        annotations=[
            *(
                bound_arrow(_stamp(test.started_at), test.lower_ah, theme.BOUND, ARROW_PX)
                for test in bounds
            ),
            *named,
            *marks.annotations,
        ],
    )
    return {"data": traces, "layout": layout}


def _shown_dates(
    tests: Sequence[TestSummary],
    fade: Fade,
    end: EndOfLife | None,
    events: Sequence[date],
    today: date | None,
) -> tuple[date, date]:
    """From before the first test to the end of the projection; of a few days at least a year."""
    days = [test.started_at.date() for test in tests]
    least = timedelta(days=180 if days[-1] - days[0] <= timedelta(days=60) else 0)
    days += [] if today is None else [today]
    goes_on = end is not None and end.fan
    until = drawn_until(end, fade) if end is not None and goes_on else max(days)
    room = max(least, (max(until, *days) - min(days)) / 24)
    # The mark at the end of the projection is not cut in half.
    right = room / 3 if goes_on else room
    days = [min(days) - room, max(until, *days) + right, *events]
    return min(days), max(days)


def _sizes(count: int) -> tuple[int, int, float]:
    """Size of a point, width of the ends of its bar and thickness (px): many stand close."""
    if count <= 30:
        return 10, 5, 1.5
    return (7, 3, 1.2) if count <= FEW_POINTS else (5, 2, 1.0)


def _measured(tests: Sequence[TestSummary]) -> Figure:
    size, ends, thickness = _sizes(len(tests))
    return {
        "type": "scatter",
        "mode": "markers",
        "name": say("measured: 95 of 100 bars hold the true value"),
        "x": [_stamp(test.started_at) for test in tests],
        "y": [round(test.capacity_ah, 3) for test in tests],
        "error_y": error_bars(
            (test.expanded_ah for test in tests), theme.MEASURED, thickness, ends
        ),
        "marker": {"size": size, "color": theme.MEASURED, "symbol": "circle"},
        "hovertemplate": theme.hover("%{y:.1f} ± %{error_y.array:.1f} Ah", _HOVER_DAY),
    }


def _bounds(tests: Sequence[TestSummary]) -> Figure:
    return {
        **bound_marks(theme.BOUND, 15),
        "type": "scatter",
        "name": say("at least: the true value lies above"),
        "x": [_stamp(test.started_at) for test in tests],
        "y": [round(test.lower_ah, 3) for test in tests],
        "hovertemplate": theme.hover(say("at least %{y:.1f} Ah"), _HOVER_DAY),
    }


def _noted(tests: Sequence[TestSummary]) -> Figure:
    """A diamond around the mark of a test of which only the result was noted."""
    levels = [t.capacity_ah if t.kind is EvidenceKind.MEASURED else t.lower_ah for t in tests]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": say("only the result was noted"),
        "x": [_stamp(test.started_at) for test in tests],
        "y": [round(level, 3) for level in levels],
        "marker": open_marker("diamond-open", _sizes(len(tests))[0] + 8, theme.MEASURED),
        "hoverinfo": "skip",
    }


def _left_out(tests: Sequence[TestSummary]) -> Figure:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": say("left out by the owner"),
        "x": [_stamp(test.started_at) for test in tests],
        "y": [round(test.capacity_ah, 3) for test in tests],
        "marker": open_marker("circle-open", 10, theme.MUTED),
        "hovertemplate": theme.hover(say("left out: %{y:.1f} Ah"), _HOVER_DAY),
    }


def _trend(fade: Fade) -> list[Figure]:
    """The line between the first and the last test, where the rate was seen."""
    if fade.line is None:
        return []
    days = np.linspace(0.0, fade.last_day - fade.first_day, BAND_POINTS)
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": say("fade so far"),
            "x": [_day(fade.first_day + day) for day in days],
            "y": [round(fade.line.at(float(day)), 3) for day in days],
            "line": {"color": theme.MEASURED, "width": 1.5},
            "hoverinfo": "skip",
        }
    ]


def _levels(threshold_ah: float | None, rated_ah: float) -> list[Figure]:
    levels = [(rated_ah, theme.MUTED, "dot")]
    if threshold_ah is not None:
        levels.append((threshold_ah, theme.THRESHOLD, "dash"))
    return [
        {
            "type": "line",
            "xref": "paper",
            "x0": 0,
            "x1": 1,
            "y0": value,
            "y1": value,
            "line": {"color": color, "width": 1.5, "dash": dash},
        }
        for value, color, dash in levels
    ]


def _stamp(at: datetime) -> str:
    return at.strftime("%Y-%m-%d %H:%M")


def _day(ordinal: float) -> str:
    whole = int(ordinal)
    return (datetime.fromordinal(whole) + timedelta(days=ordinal - whole)).strftime("%Y-%m-%d")
