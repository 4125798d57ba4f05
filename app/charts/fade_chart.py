"""The fade across years: tests with their uncertainty, trend with band, threshold, end of life."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np

from app.analysis.battery.battery_report import TestSummary
from app.analysis.fade.fade import Fade
from app.analysis.projection.end_of_life import EndOfLife
from app.analysis.projection.projection import ProjectionOutcome
from app.charts import theme
from app.charts.capacity_scale import capacity_range
from app.charts.event_marks import event_marks
from app.charts.theme import Figure
from app.charts.trace_styles import FEW_POINTS, bound_arrow, bound_marks, error_bars
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import say

BAND_POINTS = 60
ARROW_PX = 26
_HOVER_DAY = "%{x|%d %b %Y}"


def fade_figure(
    tests: Sequence[TestSummary],
    fade: Fade,
    end: EndOfLife | None,
    rated_ah: float,
    events: Sequence[tuple[date, str]],
) -> Figure:
    """A Plotly figure as plain data (traces and layout). end is None where it is not shown."""
    threshold_ah = None if end is None else end.threshold_ah
    counted = [test for test in tests if not test.left_out_reason]
    measured = [test for test in counted if test.kind is EvidenceKind.MEASURED]
    bounds = [test for test in counted if test.kind is EvidenceKind.AT_LEAST]
    left_out = [test for test in tests if test.left_out_reason]
    traces = [*([] if end is None else _fan(end, fade)), *_trend(fade)]
    if measured:
        traces.append(_measured(measured))
    if bounds:
        traces.append(_bounds(bounds))
    if left_out:
        traces.append(_left_out(left_out))
    # The projected end may lie decades ahead, where it would push the tests into a corner.
    first, last = _shown_dates(tests, traces, [day for day, _ in events])
    if end is not None and end.outcome is ProjectionOutcome.PROJECTED:
        traces.append(_span(end))
    marks = event_marks(events, first, last)
    scale = capacity_range(tests, rated_ah, threshold_ah)
    layout = theme.layout(
        500 + marks.room_px,
        # A single kind of point needs its words, too.
        showlegend=True,
        xaxis=theme.axis(say("date of the test"), type="date", range=[str(first), str(last)]),
        yaxis=theme.axis(say("capacity (Ah)"), range=list(scale)),
        shapes=[*_levels(threshold_ah, rated_ah), *marks.shapes],
        annotations=[
            *_level_labels(threshold_ah, rated_ah),
            *(
                bound_arrow(_stamp(test.started_at), test.lower_ah, theme.BOUND, ARROW_PX)
                for test in bounds
            ),
            *marks.annotations,
        ],
    )
    layout["margin"]["t"] += marks.room_px
    return {"data": traces, "layout": layout}


def _shown_dates(
    tests: Sequence[TestSummary], traces: Sequence[Figure], events: Sequence[date]
) -> tuple[date, date]:
    """All of the traces, with some room; tests of a few days stand in a year at least."""
    days = [test.started_at.date() for test in tests]
    least = timedelta(days=180 if days[-1] - days[0] <= timedelta(days=60) else 0)
    days += [date.fromisoformat(x[:10]) for trace in traces for x in trace["x"]]
    room = max(least, (max(days) - min(days)) / 20)
    days = [min(days) - room, max(days) + room, *events]
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


def _left_out(tests: Sequence[TestSummary]) -> Figure:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": say("left out by the owner"),
        "x": [_stamp(test.started_at) for test in tests],
        "y": [round(test.capacity_ah, 3) for test in tests],
        "marker": {"size": 10, "color": theme.MUTED, "symbol": "circle-open"},
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
            "line": {"color": theme.MEASURED, "width": 2, "dash": "dot"},
            "hoverinfo": "skip",
        }
    ]


def _fan(end: EndOfLife, fade: Fade) -> list[Figure]:
    """What the capacity may be after the last test, with 90 and with 50 %."""
    until = _drawn_until(end, fade)
    points = [p for p in end.fan if fade.last_day <= p.on_date.toordinal() <= until]
    if len(points) < 2:
        return []
    dates = [point.on_date.isoformat() for point in points]
    bands = []
    for name, low, high, color in (
        (say("90 % of such batteries stay inside"), "p05", "p95", theme.BAND),
        (say("50 % of such batteries stay inside"), "p25", "p75", theme.INNER_BAND),
    ):
        lower = [round(getattr(point, low), 2) for point in points]
        upper = [round(getattr(point, high), 2) for point in points]
        bands.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": name,
                "x": dates + dates[::-1],
                "y": upper + lower[::-1],
                "fill": "toself",
                "fillcolor": color,
                "line": {"width": 0},
                "hoverinfo": "skip",
            }
        )
    return bands


def _drawn_until(end: EndOfLife, fade: Fade) -> float:
    """Far enough for the projected end, not so far that the tests vanish in a corner."""
    past = max(365.0, fade.last_day - fade.first_day)
    latest = end.p95 or end.p75 or end.p50
    wanted = latest.toordinal() + 120 if latest is not None else fade.last_day + 2 * past
    return float(min(wanted, fade.last_day + max(2.5 * past, 3 * 365)))


def _span(end: EndOfLife) -> Figure:
    """The projected end as a bar on the threshold, never as a date alone."""
    dates = [day for day in (end.p05, end.p50, end.p95) if day is not None]
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": say("threshold: 5, 50, 95 % have reached it"),
        "x": [day.isoformat() for day in dates],
        "y": [end.threshold_ah] * len(dates),
        "line": {"color": theme.SPAN, "width": 6},
        "marker": {"size": 11, "symbol": "line-ns-open", "color": theme.THRESHOLD},
        "hovertemplate": theme.hover("%{x|%b %Y}"),
    }


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


def _level_labels(threshold_ah: float | None, rated_ah: float) -> list[Figure]:
    labels = [(rated_ah, say("rated {ah:g} Ah", ah=rated_ah), theme.MUTED)]
    if threshold_ah is not None:
        text = say("threshold {ah:g} Ah", ah=threshold_ah)
        labels.append((threshold_ah, text, theme.THRESHOLD))
    # Tests start near the rated level and end near the threshold: label where there is room.
    return [
        theme.level_label(text, value, color, side) | {"name": "level"}
        for (value, text, color), side in zip(labels, ("right", "left"), strict=False)
    ]


def _stamp(at: datetime) -> str:
    return at.strftime("%Y-%m-%d %H:%M")


def _day(ordinal: float) -> str:
    whole = int(ordinal)
    return (datetime.fromordinal(whole) + timedelta(days=ordinal - whole)).strftime("%Y-%m-%d")
