"""A running test: the charge counted, growing towards what the battery probably holds."""

from typing import Any

from app.analysis.running import RunningReport
from app.charts import theme
from app.charts.chart import Chart

Figure = dict[str, Any]
MOST_POINTS = 1_000


def shown_run(report: RunningReport) -> Chart | None:
    """The running test with its sentence and its numbers, for a page; None without readings."""
    if not report.hours:
        return None
    said = (
        f"{report.counted_ah:.1f} Ah counted in {report.hours[-1]:.1f} h, of probably "
        f"{report.expected_low_ah:.0f} to {report.expected_high_ah:.0f} Ah."
    )
    return Chart("run", f"Charge counted of {report.battery_name} in Ah", said, run_chart(report))


def run_chart(report: RunningReport) -> Figure:
    """A Plotly figure as plain data."""
    # More points than a screen has columns only make the page heavy; the last one always stays.
    step = max(1, len(report.hours) // MOST_POINTS)
    shown = sorted(
        {*range(0, len(report.hours), step), *[len(report.hours) - 1] * bool(report.hours)}
    )
    until = _until(report)
    band: Figure = {
        "type": "scatter",
        "mode": "lines",
        "name": "what 90 % of such batteries hold",
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
                "name": "to expect at this current",
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
            "name": "counted",
            "x": [round(report.hours[i], 4) for i in shown],
            "y": [round(report.counted[i], 3) for i in shown],
            "line": {"color": theme.MEASURED, "width": 3},
            "hovertemplate": "%{y:.1f} Ah after %{x:.2f} h<extra></extra>",
        }
    )
    layout = theme.layout(
        380,
        xaxis=theme.axis("hours since the load came on", rangemode="tozero"),
        yaxis=theme.axis("charge counted (Ah)", rangemode="tozero"),
    )
    return {"data": traces, "layout": layout}


def _until(report: RunningReport) -> float:
    last = report.hours[-1] if report.hours else 1.0
    if not report.mean_current_a:
        return max(last, 1.0)
    return round(max(last, report.expected_high_ah / report.mean_current_a), 4)
