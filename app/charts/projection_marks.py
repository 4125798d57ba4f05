"""Where a battery is going, drawn: the fan from the last test on, its middle, and the time in which
the threshold is reached."""

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import date, timedelta

import numpy as np

from app.analysis.fade.fade import Fade
from app.analysis.projection.end_of_life import EndOfLife, FanPoint, coarse_date
from app.analysis.projection.linear_extrapolation import HORIZON_YEARS
from app.analysis.projection.projection import ProjectionOutcome
from app.charts import theme
from app.charts.label_placement import LabelPlot, LabelPosition, along, placed
from app.charts.theme import Figure
from app.charts.trace_styles import open_marker
from app.domain.i18n.message import say

# Where in a band its name may stand, from one edge to the other.
_IN_BAND = (0.5, 0.35, 0.65, 0.2, 0.8)
# Without an end the fan goes on for so much of what was tested, and for so long at least.
_ON, _LEAST_DAYS = 2.5, 3 * 365
_BEHIND_THE_END = timedelta(days=120)
# To the right of the middle its name has some room.
_BEHIND_THE_MIDDLE = 0.08
_SPAN_PX, _MARK_PX = 6, 13
# Along the bar, where the name of an end that lies outside may stand.
_PLACES = 10
# How the name of the middle may lie to its mark (px).
_BESIDE_MIDDLE = (("left", 0), ("right", 0), ("center", 0), ("right", -12), ("left", 12))


def drawn_end(end: EndOfLife) -> EndOfLife:
    """The end as it is drawn: nothing is projected from tests that contradict each other."""
    if not end.waits:
        return end
    unknown = ProjectionOutcome.NOT_YET_KNOWN
    return replace(end, outcome=unknown, fan=(), p05=None, p25=None, p50=None, p75=None, p95=None)


def drawn_until(end: EndOfLife, fade: Fade) -> date:
    """Far enough for the projected end, not so far that the tests vanish in a corner; but always
    beyond the middle, where that is known."""
    last, tested = date.fromordinal(int(fade.last_day)), fade.last_day - fade.first_day
    reach = max((point.on_date for point in end.fan), default=last)
    return min(reach, _wanted_until(end, last, tested))


def _wanted_until(end: EndOfLife, last: date, tested: float) -> date:
    latest = end.p95 or end.p75 or end.p50
    far = last + timedelta(days=max(_ON * max(365.0, tested), _LEAST_DAYS))
    if end.outcome is not ProjectionOutcome.PROJECTED or latest is None:
        return min(far, last + timedelta(days=2 * max(365.0, tested)))
    until = min(latest + _BEHIND_THE_END, far)
    if end.p50 is None:
        return until
    ahead = (end.p50 - last).days + tested
    return max(until, end.p50 + timedelta(days=max(60, _BEHIND_THE_MIDDLE * ahead)))


def fan_points(end: EndOfLife, fade: Fade) -> tuple[FanPoint, ...]:
    """The fan from the last test to where the picture ends."""
    if not end.fan:
        return ()
    days = [point.on_date.toordinal() for point in end.fan]
    first, last = int(fade.last_day), min(drawn_until(end, fade).toordinal(), days[-1])
    if last <= first:
        return ()
    shown = [first, *(day for day in days if first < day < last), last]
    levels = [field.name for field in fields(FanPoint) if field.name != "on_date"]
    columns = [np.interp(shown, days, [getattr(p, name) for p in end.fan]) for name in levels]
    return tuple(
        FanPoint(date.fromordinal(day), *(round(float(v), 2) for v in values))
        for day, *values in zip(shown, *columns, strict=True)
    )


def projection_traces(end: EndOfLife, points: Sequence[FanPoint]) -> list[Figure]:
    """What the capacity may be after the last test, with 90 and 50 %, its middle and the end."""
    traces = _fan(points) if points else []
    if end.outcome is ProjectionOutcome.PROJECTED:
        traces.append(_span(end))
    return traces


def _fan(points: Sequence[FanPoint]) -> list[Figure]:
    dates = [point.on_date.isoformat() for point in points]
    traces: list[Figure] = []
    for name, low, high, color in (
        (say("90 % of such batteries stay inside"), "p05", "p95", theme.BAND),
        (say("50 % of such batteries stay inside"), "p25", "p75", theme.INNER_BAND),
    ):
        lower = [getattr(point, low) for point in points]
        upper = [getattr(point, high) for point in points]
        traces.append(theme.band(name, dates, lower, upper, color))
    traces.append(
        {
            "type": "scatter",
            "mode": "lines",
            "name": say("middle: half of such batteries stay above"),
            "x": dates,
            "y": [point.p50 for point in points],
            "line": {"color": theme.MEASURED, "width": 2, "dash": "dot"},
            "hovertemplate": theme.hover(say("middle: %{y:.1f} Ah"), "%{x|%b %Y}"),
        }
    )
    return traces


def _span(end: EndOfLife) -> Figure:
    """The projected end as a bar on the threshold, never as a date alone."""
    dates = [day for day in (end.p05, end.p50, end.p95) if day is not None]
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": say("limit: 5, 50, 95 % have reached it"),
        "x": [day.isoformat() for day in dates],
        "y": [end.threshold_ah] * len(dates),
        "line": {"color": theme.SPAN, "width": _SPAN_PX},
        "marker": open_marker("line-ns-open", _MARK_PX, theme.THRESHOLD),
        "hovertemplate": theme.hover("%{x|%b %Y}"),
    }


def open_end(end: EndOfLife, until: date) -> list[Figure]:
    """The bar on the threshold goes on to the end of the picture where its own end is unknown."""
    known = [day for day in (end.p05, end.p50) if day is not None]
    if end.outcome is not ProjectionOutcome.PROJECTED or end.p95 is not None or not known:
        return []
    if known[-1] >= until:
        return []
    line = {"color": theme.SPAN, "width": _SPAN_PX, "dash": "solid"}
    ends = {"x0": known[-1].isoformat(), "x1": until.isoformat()}
    return [{"type": "line", **ends, "y0": end.threshold_ah, "y1": end.threshold_ah, "line": line}]


def projection_labels(
    end: EndOfLife, points: Sequence[FanPoint], until: date, first_test: date, plot: LabelPlot
) -> list[Figure]:
    """The names of the middle, of an end that lies outside, and of bands where there is room."""
    labels = []
    _draw_span(end, until, plot)
    if (text := _beyond(end, until, first_test)) and end.threshold_ah is not None:
        # At the right edge, or on the bar before it, where a line of the fan goes through it there.
        since = points[0].on_date if points else first_test
        days = np.linspace(since.toordinal(), until.toordinal(), _PLACES).tolist()
        bar = [(day, end.threshold_ah) for day in days]
        spot = plot.best(text, along(bar, ("right", "bottom"), ("right", "top")))
        labels.append(placed(text, spot, theme.THRESHOLD, _day_of(spot)))
    if end.outcome is ProjectionOutcome.PROJECTED and end.p50 is not None:
        text = say("middle: {when}", when=coarse_date(end.p50))
        labels.append(_middle(text, end.p50, end.threshold_ah or 0.0, plot))
    for text, inner, outer in (
        (say("9 in 10"), ("p75", "p25"), ("p95", "p05")),
        (say("5 in 10"), ("p50", "p50"), ("p75", "p25")),
    ):
        found = plot.clear(text, _within(points, inner, outer, plot.lowest))
        if found is not None:
            labels.append(placed(text, found, theme.MEASURED, _day_of(found)))
    return labels


def _draw_span(end: EndOfLife, until: date, plot: LabelPlot) -> None:
    """The bar on the threshold with its marks, which names should not lie on."""
    days = [day.toordinal() for day in (end.p05, end.p50, end.p95) if day is not None]
    if end.outcome is not ProjectionOutcome.PROJECTED or not days or end.threshold_ah is None:
        return
    last = until.toordinal() if end.p95 is None else days[-1]
    plot.draw_level((days[0], last), end.threshold_ah, _SPAN_PX)
    for day in days:
        for up in (-_MARK_PX / 2, _MARK_PX / 2):
            plot.draw_arrow(day, end.threshold_ah, up)


def _day_of(spot: LabelPosition) -> str:
    return date.fromordinal(int(spot.x)).isoformat()


def _middle(text: str, day: date, level: float, plot: LabelPlot) -> Figure:
    spots = [
        LabelPosition(day.toordinal(), level, side, edge, 9 if edge == "bottom" else -9, off_px)
        for edge in ("bottom", "top")
        for side, off_px in _BESIDE_MIDDLE
    ]
    return placed(text, plot.best(text, spots), theme.THRESHOLD, day.isoformat())


def _beyond(end: EndOfLife, until: date, first_test: date) -> str:
    """When the threshold is reached behind the end of the picture; empty where that is in it."""
    if end.outcome not in (ProjectionOutcome.PROJECTED, ProjectionOutcome.BEYOND_HORIZON):
        return ""
    if end.p05 is not None and end.p05 > until:
        return say("from {year} →", year=end.p05.year)
    if end.p95 is not None:
        return say("until {year} →", year=end.p95.year) if end.p95 > until else ""
    return say("after {year} →", year=first_test.year + int(HORIZON_YEARS))


def _within(
    points: Sequence[FanPoint], inner: tuple[str, str], outer: tuple[str, str], lowest: float
) -> list[LabelPosition]:
    """Places in the middle of a band, from its end backwards: above first, then below."""
    return [
        LabelPosition(
            point.on_date.toordinal(), low + part * (high - low), "right", "middle", 0, -3
        )
        for point in reversed(points[len(points) // 3 :])
        for day in [point.on_date]
        for one, other in zip(inner, outer, strict=True)
        for low, high in [[max(lowest, getattr(point, name)) for name in (one, other)]]
        for part in _IN_BAND
    ]
