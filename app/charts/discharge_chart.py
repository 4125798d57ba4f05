"""One test over time: what was left against what to expect, voltage and temperature."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from typing import Protocol

from app.analysis.reports.discharge_report import Row
from app.charts import theme
from app.charts.chart import Chart, sentence
from app.charts.label_placement import LabelPlot, along, named, on_level, placed, spread
from app.charts.localized_figure import read_figure
from app.charts.svg_figure import figure_svg
from app.charts.theme import Figure
from app.charts.trace_styles import level_trace, line_mode, open_marker
from app.domain.i18n.message import ENGLISH, Reader, long_day, say

# Free above and below what is drawn.
_ROOM = 0.03
# Of its first panel and of each further one (px), and between them.
_PANEL_PX, _FURTHER_PX, _GAP_PX = 210, 90, 32


class DrawnTest(Protocol):
    """What of a test is drawn: the owner's report has it, and the one for strangers."""

    @property
    def rows(self) -> tuple[Row, ...]: ...
    @property
    def rated_ah(self) -> float: ...
    @property
    def reserve_share(self) -> float: ...
    @property
    def expected_run_time_to_empty_h(self) -> float | None: ...


class NamedTest(DrawnTest, Protocol):
    """A test that is drawn with its date and its result as title."""

    @property
    def started_at(self) -> datetime: ...
    @property
    def headline(self) -> str: ...


def discharge_chart(report: NamedTest, name: str = "course") -> Chart | None:
    """The course with its sentence and its numbers, for a page; None without readings."""
    if not report.rows:
        return None
    last = report.rows[-1]
    said = sentence(
        report.headline,
        say(
            "after {elapsed_h:.1f} h {counted_ah:.1f} Ah were counted, and {remaining_ah:.1f} Ah "
            "of the rated capacity were left; at this steady current the rated {rated_ah:g} Ah "
            "promise {expected_h:.1f} h",
            elapsed_h=last.elapsed_h,
            counted_ah=last.counted_ah,
            remaining_ah=last.remaining_ah,
            rated_ah=report.rated_ah,
            expected_h=report.expected_run_time_to_empty_h,
        ),
        _voltage_words(report.rows),
    )
    title = say("Capacity test of {day} over time", day=long_day(report.started_at))
    caption = say(
        "Dashed: what the label promises at this current. Solid: the rated capacity less the "
        "amp-hours counted."
    )
    note = say(
        "If the solid line ends above zero, that part of the rated capacity was missing or was "
        "not drawn. The dashed line shows what the rated capacity promises at this steady "
        "current."
    )
    return Chart(name, title, said, partial(discharge_figure, report), caption, note)


def discharge_svg(report: NamedTest, width: float | None = None, reader: Reader = ENGLISH) -> str:
    """The very same figure for paper and for files; empty where it has no readings under load.

    width as in fade_svg.
    """
    if not report.rows:
        return ""
    figure = discharge_figure(report, reader)
    title = say("Capacity test of {day}", day=long_day(report.started_at))
    said = say(
        "{headline}. The dashed line shows what the rated {rated_ah:g} Ah promise at this steady "
        "current; the solid line shows the rated capacity less the amp-hours counted.",
        headline=report.headline,
        rated_ah=report.rated_ah,
    )
    return figure_svg(read_figure(figure, reader), title, said, width, reader)


def _voltage_words(rows: Sequence[Row]) -> str:
    volts = [row.voltage_v for row in rows if row.voltage_v is not None]
    if len(volts) < 2:
        return ""
    return say("the voltage went from {first:.2f} to {last:.2f} V", first=volts[0], last=volts[-1])


def discharge_figure(report: DrawnTest, reader: Reader = ENGLISH) -> Figure:
    """A Plotly figure as plain data: up to three panels over one time axis."""
    rows = report.rows
    panels = [(say("charge left (Ah)"), _charge_traces(report))]
    hover = say("%{y:.2f} V at %{x:.2f} h")
    voltage = _line(rows, "voltage_v", say("voltage"), theme.MEASURED, hover)
    if voltage is not None:
        panels.append((say("voltage (V)"), [voltage]))
    hover = say("%{y:.1f} °C at %{x:.2f} h")
    temperature = _line(rows, "temperature_c", say("temperature"), theme.BOUND, hover)
    if temperature is not None:
        panels.append((say("battery (°C)"), [temperature]))
    height, tops = theme.panels([_PANEL_PX, *[_FURTHER_PX] * (len(panels) - 1)], _GAP_PX)
    reserve_ah = report.rated_ah * report.reserve_share
    until, ends = _ends(report)
    plot = LabelPlot((0.0, until), ends, _PANEL_PX, reader)
    labels = _names(panels[0][1], reserve_ah, plot)
    layout = theme.layout(
        height,
        annotations=labels,
        xaxis=theme.axis(
            say("hours since the load came on"), anchor=f"y{len(panels)}", range=[0, until]
        ),
    )
    traces = []
    for number, ((title, drawn), domain) in enumerate(zip(panels, tops, strict=True), start=1):
        suffix = "" if number == 1 else str(number)
        scale = {"range": list(ends)} if number == 1 else {}
        layout[f"yaxis{suffix}"] = theme.axis(title, domain=domain, **scale)
        traces += [trace | {"yaxis": f"y{suffix}"} for trace in drawn]
    return {"data": traces, "layout": layout}


def _ends(report: DrawnTest) -> tuple[float, tuple[float, float]]:
    """Where the hours end, and between what the charge is drawn."""
    until = max(_promised_h(report), report.rows[-1].elapsed_h)
    charges = [value for row in report.rows for value in (row.remaining_ah, row.gauge_ah or 0.0)]
    low, high = min(0.0, *charges), max(report.rated_ah, *charges)
    room = _ROOM * (high - low)
    return round(until * (1 + _ROOM), 4), (round(low - room, 3), round(high + room, 3))


def _names(traces: Sequence[Figure], reserve_ah: float, plot: LabelPlot) -> list[Figure]:
    """What the label promises above its line, what was counted below, the gauge where it can; the
    reserve always, on its own line."""
    lines = [spread(trace["x"], trace["y"]) for trace in traces]
    for line in lines:
        plot.draw(line)
    made = []
    if reserve_ah > 0:
        text = say("reserve by the label: {reserve_ah:g} Ah", reserve_ah=reserve_ah)
        until = max(line[-1][0] for line in lines)
        spot = plot.best(text, on_level(reserve_ah, (0.0, until)))
        made.append(placed(text, spot, theme.THRESHOLD))
    above, below = ("left", "bottom"), ("right", "top")
    # From its middle backwards: its end lies near the reserve.
    wanted = [
        (trace["name"], along(line[: len(line) * 2 // 3], below))
        for trace, line in zip(traces, lines, strict=True)
    ]
    # Its upper end has the most room.
    wanted[0] = (traces[0]["name"], along(lines[0][::-1], above))
    gauge = [pair for pair, trace in zip(wanted, traces, strict=True) if trace["mode"] == "markers"]
    colors = (theme.EXPECTED, theme.MEASURED, theme.BOUND)
    found = [*wanted[:2], *gauge]
    chosen = [(text, c, at) for (text, at), c in zip(found, colors, strict=False)]
    return made + named(plot, chosen)


def _promised_h(report: DrawnTest) -> float:
    """Hours that the rated capacity would run. What has readings has a current, and so these."""
    assert report.expected_run_time_to_empty_h is not None
    return report.expected_run_time_to_empty_h


def _charge_traces(report: DrawnTest) -> list[Figure]:
    rows = report.rows
    hours = [round(row.elapsed_h, 4) for row in rows]
    to_empty_h = _promised_h(report)
    until = max(to_empty_h, hours[-1])
    reserve_ah = report.rated_ah * report.reserve_share
    expected: Figure = {
        "type": "scatter",
        "mode": "lines",
        "name": say("what the label promises"),
        "x": [0, round(to_empty_h, 4)],
        "y": [report.rated_ah, 0],
        "line": {"color": theme.EXPECTED, "width": 2, "dash": "dash"},
        "hovertemplate": theme.hover(say("expected %{y:.1f} Ah")),
    }
    actual: Figure = {
        "type": "scatter",
        "mode": line_mode(len(rows)),
        "name": say("left by the count"),
        "x": hours,
        "y": [round(row.remaining_ah, 3) for row in rows],
        "line": {"color": theme.MEASURED, "width": 3},
        "hovertemplate": theme.hover(say("%{y:.1f} Ah left of rated at %{x:.2f} h")),
    }
    traces = [expected, actual]
    if reserve_ah > 0:
        name = say("reserve by the label: {reserve_ah:g} Ah", reserve_ah=reserve_ah)
        traces.append(level_trace(name, (0, round(until, 4)), reserve_ah, "dot"))
    gauge = [(row.elapsed_h, row.gauge_ah) for row in rows if row.gauge_ah is not None]
    if gauge:
        traces.append(
            {
                "type": "scatter",
                "mode": "markers",
                "name": say("gauge"),
                "x": [round(hour, 4) for hour, _ in gauge],
                "y": [round(value, 3) for _, value in gauge],
                "marker": open_marker("diamond-open", 8, theme.BOUND),
                "hovertemplate": theme.hover(say("gauge: %{y:.1f} Ah")),
            }
        )
    return traces


def _line(rows: Sequence[Row], name: str, label: str, color: str, hover: str) -> Figure | None:
    known = [(row.elapsed_h, getattr(row, name)) for row in rows if getattr(row, name) is not None]
    if len(known) < 2:
        return None
    return {
        "type": "scatter",
        "mode": line_mode(len(known)),
        "name": label,
        "showlegend": False,
        "x": [round(hour, 4) for hour, _ in known],
        "y": [round(value, 4) for _, value in known],
        "line": {"color": color, "width": 2},
        "hovertemplate": theme.hover(hover),
    }
