"""A running test: the charge counted, growing towards what the battery probably holds."""

from collections.abc import Sequence
from functools import partial

from app.analysis.test_day.running import RunningReport
from app.charts import theme
from app.charts.chart import Chart
from app.charts.label_placement import LabelPlot, along, named, spread
from app.charts.theme import Figure
from app.domain.i18n.message import ENGLISH, Reader, say

MAX_POINTS = 1_000
_PLOT_PX = 300
# Beyond the highest value.
_ROOM = 1.06


def run_chart(report: RunningReport) -> Chart | None:
    """The running test with its sentence and its numbers, for a page; None without readings."""
    if not report.hours:
        return None
    said = say(
        "{counted_ah:.1f} Ah counted in {hours:.1f} h; the battery holds {low_ah:.0f} to "
        "{high_ah:.0f} Ah (9 in 10).",
        counted_ah=report.counted_ah,
        hours=report.hours[-1],
        low_ah=report.expected_low_ah,
        high_ah=report.expected_high_ah,
    )
    title = say("Charge counted of {battery} in Ah", battery=report.battery_name)
    caption = say("Shaded: the charge that 9 in 10 such batteries hold.")
    return Chart("run", title, said, partial(run_figure, report), caption)


def run_figure(report: RunningReport, reader: Reader = ENGLISH) -> Figure:
    """A Plotly figure as plain data."""
    # More points than a screen has columns only make the page heavy; the last one always stays.
    step = max(1, len(report.hours) // MAX_POINTS)
    shown = sorted(
        {*range(0, len(report.hours), step), *[len(report.hours) - 1] * bool(report.hours)}
    )
    until = _until(report)
    low, high = report.expected_low_ah, report.expected_high_ah
    band = theme.band(
        say("charge that 9 in 10 such batteries hold"), [0, until], [low] * 2, [high] * 2
    )
    traces = [band]
    if report.mean_current_a:
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": say("expected at this current"),
                "x": [0, round(report.expected_middle_ah / report.mean_current_a, 4)],
                "y": [0, round(report.expected_middle_ah, 3)],
                "line": {"color": theme.EXPECTED, "width": 2, "dash": "dash"},
                "hoverinfo": "skip",
            }
        )
    traces.append(
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": say("counted"),
            "x": [round(report.hours[i], 4) for i in shown],
            "y": [round(report.counted[i], 3) for i in shown],
            "line": {"color": theme.MEASURED, "width": 3},
            "hovertemplate": theme.hover(say("%{y:.1f} Ah after %{x:.2f} h")),
        }
    )
    top = _ROOM * max(high, max(report.counted, default=high))
    layout = theme.layout(
        _PLOT_PX + theme.TOP_PX + theme.BOTTOM_PX,
        annotations=_names(traces, _ROOM * until, top, reader),
        xaxis=theme.axis(say("hours since the load came on"), range=[0, round(_ROOM * until, 4)]),
        yaxis=theme.axis(say("charge counted (Ah)"), range=[0, round(top, 3)]),
    )
    return {"data": traces, "layout": layout}


def _names(traces: Sequence[Figure], until: float, top: float, reader: Reader) -> list[Figure]:
    """What such batteries hold, what to expect and what was counted, beside what is drawn."""
    band, *lines = traces
    plot = LabelPlot((0.0, until), (0.0, top), _PLOT_PX, reader)
    low, high, end = band["y"][-1], band["y"][0], band["x"][1]
    for level in (low, high):
        plot.draw([(0.0, level), (end, level)])
    drawn = [spread(line["x"], line["y"]) for line in lines]
    for line in drawn:
        plot.draw(line)
    inside = [(end * part, (low + high) / 2) for part in (0.7, 0.5, 0.35)]
    wanted = [(say("9 in 10 such batteries"), theme.MEASURED, along(inside, ("right", "middle")))]
    # Where the band is narrow its name stands on it.
    wanted[0][2].extend(
        along([(end * part, high) for part in (0.7, 0.5, 0.35)], ("right", "bottom"))
    )
    for trace, line in zip(lines, drawn, strict=True):
        spots = along(line, ("right", "bottom"), ("left", "top"))
        wanted.append((trace["name"], trace["line"]["color"], spots))
    return named(plot, wanted)


def _until(report: RunningReport) -> float:
    last = report.hours[-1] if report.hours else 1.0
    if not report.mean_current_a:
        return max(last, 1.0)
    return round(max(last, report.expected_high_ah / report.mean_current_a), 4)
