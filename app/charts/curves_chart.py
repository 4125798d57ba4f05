"""All discharge curves of a battery: voltage against charge, against time, and the difference."""

from collections.abc import Sequence
from functools import partial

from app.analysis.comparison.discharge_curves import Curve, Curves
from app.charts import theme
from app.charts.chart import Chart, sentence
from app.charts.label_placement import LabelPlot, along, named, spread
from app.charts.theme import Figure
from app.domain.i18n.message import ENGLISH, Reader, long_day, say, written_day

MAX_NAMED = 6
_PANEL_PX, _GAP_PX = 190, 68
# Beyond the highest value.
_ROOM = 1.04


def curves_figure(curves: Curves, reader: Reader = ENGLISH) -> Figure:
    """A Plotly figure as plain data: three panels, the oldest test pale, the newest dark."""
    traces: list[Figure] = []
    last = len(curves.curves) - 1
    # For paper and files: of many, the oldest, the middle and the newest are named.
    in_key = range(last + 1) if last < MAX_NAMED else (0, last // 2, last)
    for number, curve in enumerate(curves.curves):
        share = number / max(1, len(curves.curves) - 1)
        line = {"color": theme.by_age(share), "width": 1.5 + share}
        traces += [
            _trace(curve, "charge_ah", "voltage_v", "", line, shown=number in in_key),
            _trace(curve, "hours", "voltage_v", "2", line),
            _trace(curve, "charge_ah", "difference_v", "3", line),
        ]
    height, shares = theme.panels([_PANEL_PX] * 3, _GAP_PX)
    until = _ROOM * max(value for trace in traces[::3] for value in trace["x"])
    volts = [v for trace in traces[::3] for v in trace["y"] if v is not None]
    room = (_ROOM - 1) * (max(volts) - min(volts))
    scale = (min(volts) - room, max(volts) + room)
    charge = {"range": [0, round(until, 3)]}
    layout = theme.layout(
        height,
        annotations=_names(curves, traces[::3], until, scale, reader),
        xaxis=theme.axis(say("charge counted (Ah)"), anchor="y", **charge),
        yaxis=theme.axis(say("voltage (V)"), domain=shares[0], range=list(scale)),
        xaxis2=theme.axis(say("hours since the load came on"), anchor="y2", rangemode="tozero"),
        yaxis2=theme.axis(say("voltage (V)"), domain=shares[1]),
        xaxis3=theme.axis(say("charge counted (Ah)"), anchor="y3", **charge),
        yaxis3=theme.axis(say("difference from the first test (V)"), domain=shares[2]),
    )
    return {"data": traces, "layout": layout}


def _names(
    curves: Curves,
    traces: Sequence[Figure],
    until: float,
    scale: tuple[float, float],
    reader: Reader,
) -> list[Figure]:
    """The days of the newest and the oldest test on the outer sides of their curves."""
    plot = LabelPlot((0.0, until), scale, _PANEL_PX, reader)
    lines = [spread(trace["x"], trace["y"]) for trace in traces]
    for line in lines:
        plot.draw(line)
    newest = (written_day(curves.curves[-1].on_date), theme.INK)
    found = named(plot, [(*newest, along(lines[-1], ("right", "top")))])
    if len(lines) > 1:
        oldest = (written_day(curves.curves[0].on_date), theme.MUTED)
        # Above a curve that goes down there is room.
        spots = along(lines[0], ("right", "bottom"), ("left", "bottom"))
        found += named(plot, [(*oldest, spots)])
    return found


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
                "{count} tests over one another, the oldest faint, the newest strong",
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
    caption = say(
        "Faint: the oldest test. Strong: the newest. Currents and temperatures may differ."
    )
    note = say(
        "Voltage of every test against the charge counted and against time, and the difference to "
        "the first test at the same charge."
    )
    return Chart("curves", title, sentence(*said), partial(curves_figure, curves), caption, note)


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
