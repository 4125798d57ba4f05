"""All discharge curves of a battery: voltage against charge, against time, and the difference."""

from app.analysis.comparison.discharge_curves import Curve, Curves
from app.charts import theme
from app.charts.chart import Chart, sentence
from app.charts.theme import Figure
from app.domain.i18n.message import long_day, say, written_day

MAX_NAMED = 6


def curves_figure(curves: Curves) -> Figure:
    """A Plotly figure as plain data: three panels, the oldest test pale, the newest dark."""
    traces: list[Figure] = []
    last = len(curves.curves) - 1
    # The shade tells the order; of many, the oldest, the middle and the newest are named.
    named = range(last + 1) if last < MAX_NAMED else (0, last // 2, last)
    for number, curve in enumerate(curves.curves):
        share = number / max(1, len(curves.curves) - 1)
        line = {"color": theme.by_age(share), "width": 1.5 + share}
        traces += [
            _trace(curve, "charge_ah", "voltage_v", "", line, shown=number in named),
            _trace(curve, "hours", "voltage_v", "2", line),
            _trace(curve, "charge_ah", "difference_v", "3", line),
        ]
    layout = theme.layout(
        900,
        xaxis=theme.axis(say("charge counted (Ah)"), anchor="y", rangemode="tozero"),
        yaxis=theme.axis(say("voltage (V)"), domain=[0.72, 1]),
        xaxis2=theme.axis(say("hours since the load came on"), anchor="y2", rangemode="tozero"),
        yaxis2=theme.axis(say("voltage (V)"), domain=[0.36, 0.62]),
        xaxis3=theme.axis(say("charge counted (Ah)"), anchor="y3", rangemode="tozero"),
        yaxis3=theme.axis(say("less first test (V)"), domain=[0.04, 0.26]),
    )
    return {"data": traces, "layout": layout}


def curves_chart(curves: Curves) -> Chart | None:
    """The curves with their sentence and their numbers, for a page; None where there are none."""
    if not curves.curves:
        return None
    first, last = curves.curves[0], curves.curves[-1]
    if len(curves.curves) == 1:
        day = long_day(first.on_date)
        said = [say("The test of {day} delivered {ah:.1f} Ah", day=day, ah=first.delivered_ah)]
    else:
        said = [
            say(
                "{count} tests over one another, the oldest pale, the newest dark",
                count=len(curves.curves),
            ),
            say(
                "the first, of {first_day}, delivered {first_ah:.1f} Ah, the newest, of "
                "{last_day}, {last_ah:.1f} Ah, both as counted, without corrections",
                first_day=long_day(first.on_date),
                first_ah=first.delivered_ah,
                last_day=long_day(last.on_date),
                last_ah=last.delivered_ah,
            ),
        ]
    title = say("Discharge curves of {battery}, voltage in V", battery=curves.battery_name)
    return Chart("curves", title, sentence(*said), curves_figure(curves))


def _trace(
    curve: Curve, x: str, y: str, panel: str, line: Figure, *, shown: bool = False
) -> Figure:
    name = written_day(curve.on_date)
    values = [None if value is None else round(value, 4) for value in getattr(curve, y)]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "legendgroup": name,
        "showlegend": shown,
        "x": [round(value, 4) for value in getattr(curve, x)],
        "y": values,
        "xaxis": f"x{panel}",
        "yaxis": f"y{panel}",
        "line": line,
        "hovertemplate": theme.hover(say("%{y:.2f} V at %{x:.1f}"), name),
    }
