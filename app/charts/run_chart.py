"""A running test: the charge counted, growing towards what the battery probably holds."""

from app.analysis.test_day.running import RunningReport
from app.charts import theme
from app.charts.chart import Chart
from app.charts.theme import Figure
from app.domain.i18n.message import say

MAX_POINTS = 1_000


def run_chart(report: RunningReport) -> Chart | None:
    """The running test with its sentence and its numbers, for a page; None without readings."""
    if not report.hours:
        return None
    said = say(
        "{counted_ah:.1f} Ah counted in {hours:.1f} h, of {low_ah:.0f} to "
        "{high_ah:.0f} Ah with 90 %.",
        counted_ah=report.counted_ah,
        hours=report.hours[-1],
        low_ah=report.expected_low_ah,
        high_ah=report.expected_high_ah,
    )
    title = say("Charge counted of {battery} in Ah", battery=report.battery_name)
    return Chart("run", title, said, run_figure(report))


def run_figure(report: RunningReport) -> Figure:
    """A Plotly figure as plain data."""
    # More points than a screen has columns only make the page heavy; the last one always stays.
    step = max(1, len(report.hours) // MAX_POINTS)
    shown = sorted(
        {*range(0, len(report.hours), step), *[len(report.hours) - 1] * bool(report.hours)}
    )
    until = _until(report)
    band: Figure = {
        "type": "scatter",
        "mode": "lines",
        "name": say("what 90 % of such batteries hold"),
        "x": [0, until, until, 0],
        "y": [report.expected_low_ah] * 2 + [report.expected_high_ah] * 2,
        "fill": "toself",
        "fillcolor": theme.BAND,
        "line": {"width": 0},
        "hoverinfo": "skip",
    }
    traces = [band]
    if report.mean_current_a:
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": say("to expect at this current"),
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
    layout = theme.layout(
        380,
        xaxis=theme.axis(say("hours since the load came on"), rangemode="tozero"),
        yaxis=theme.axis(say("charge counted (Ah)"), rangemode="tozero"),
    )
    return {"data": traces, "layout": layout}


def _until(report: RunningReport) -> float:
    last = report.hours[-1] if report.hours else 1.0
    if not report.mean_current_a:
        return max(last, 1.0)
    return round(max(last, report.expected_high_ah / report.mean_current_a), 4)
