"""A running test: the charge counted, growing towards what the battery probably holds."""

from typing import Any

from app.analysis.running import RunningReport
from app.charts import theme

Figure = dict[str, Any]


def run_chart(report: RunningReport) -> Figure:
    """A Plotly figure as plain data."""
    hours = [round(hour, 4) for hour in report.hours]
    until = _until(report)
    band: Figure = {
        "type": "scatter",
        "mode": "lines",
        "name": "what it probably holds, 90 %",
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
            "x": hours,
            "y": [round(value, 3) for value in report.counted],
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
