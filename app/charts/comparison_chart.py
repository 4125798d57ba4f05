"""Batteries laid over one another: trends on a common axis, and discharge curves."""

import html
from collections.abc import Sequence
from functools import partial

from app.analysis.comparison.comparison_axis import LaidAxis
from app.analysis.comparison.comparison_side import ComparedPoint, ComparedSide
from app.analysis.comparison.overlaid_curves import LaidCurve
from app.charts import theme
from app.charts.chart import Chart, sentence
from app.charts.label_placement import (
    ARROW_PX,
    HEIGHT_PX,
    AxisEnds,
    DrawnLine,
    LabelPlot,
    LabelPosition,
    along,
    axis_ends,
    placed,
    places,
    spread,
)
from app.charts.theme import Figure
from app.charts.trace_styles import bound_arrow, bound_marks, error_bars
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import (
    ENGLISH,
    Reader,
    joined,
    say,
    transformed,
    written_day,
    written_number,
)

MAX_LABEL_LENGTH = 24
# Beyond the highest value.
_ROOM = 1.04


def trends_figure(
    sides: Sequence[ComparedSide], axis: LaidAxis, reader: Reader = ENGLISH
) -> Figure:
    """Tests in % of rated with their 95 % intervals and the line of each rate, as plain data.

    Every side has its colour, its symbol, its dash and its name beside its line.
    """
    traces: list[Figure] = []
    labels: list[Figure] = []
    drawn: dict[int, DrawnLine] = {}
    # Of bounds alone: they have no name beside them.
    lone: list[DrawnLine] = []
    for number, (side, x) in enumerate(zip(sides, axis.x, strict=True)):
        name = plain(side.name)
        placed = [(at, p) for at, p in zip(x, side.points, strict=True) if at is not None]
        measured = [(at, p) for at, p in placed if p.kind is EvidenceKind.MEASURED]
        bounds = [(at, p) for at, p in placed if p.kind is EvidenceKind.AT_LEAST]
        fitted = [(at, p) for at, p in measured if p.fitted_percent is not None]
        if fitted:
            traces.append(_line(name, number, fitted))
        if measured:
            traces.append(_measured(name, number, measured))
            drawn[number] = _drawn(name, measured, fitted, bounds)
        if bounds:
            lone += [] if measured else [DrawnLine(name, (), (), _places(bounds))]
            traces.append(_bounds(name, number, bounds))
            color = theme.SERIES[number % len(theme.SERIES)][0]
            arrows = ((round(at, 4), round(p.percent, 3)) for at, p in bounds)
            labels += [bound_arrow(at, percent, color, ARROW_PX) for at, percent in arrows]
    ends = axis_ends([*drawn.values(), *lone])
    spots = places(tuple(drawn.values()), ends, axis.move_x, reader)
    for number, place in zip(drawn, spots, strict=True):
        labels.append(_text(drawn[number].name, number, place))
    layout = theme.layout(
        HEIGHT_PX + theme.TOP_PX + theme.BOTTOM_PX,
        xaxis=theme.axis(joined("", (axis.label, " (", axis.unit, ")")), range=list(ends[0])),
        yaxis=theme.axis(say("capacity (% of rated)"), range=list(ends[1])),
        annotations=labels,
        shapes=[] if axis.move_x is None else [_move(axis.move_x)],
    )
    return {"data": traces, "layout": layout}


def trends_chart(sides: Sequence[ComparedSide], axis: LaidAxis, number: int) -> Chart:
    """The trends on one axis with their sentence; number is the axis's among those of the page."""
    said = sentence(*(joined(": ", (side.name, _rate_words(side))) for side in sides))
    title = say("Capacity in % of rated, by {axis} in {unit}", axis=axis.label, unit=axis.unit)
    bars = say("Bars very likely hold the true value. Arrow: at least this much.")
    # Said once a page.
    caption = joined(" ", (axis.words, bars)) if number == 1 else axis.words
    note = say(
        "95 of 100 such bars hold the true value of their test, if the meters keep their stated "
        "limits; lines are the rates above."
    )
    draw = partial(trends_figure, sides, axis)
    # What is the same of every axis is said once.
    note = note if number == 1 else ""
    return Chart(f"trend-{number}", title, said, draw, caption, note)


def _rate_words(side: ComparedSide) -> str:
    if side.rate_percent_per_year is None:
        return side.no_rate_because
    numbers = (side.rate_percent_per_year, side.low, side.high)
    rate, low, high = ("–" if n is None else written_number(n, ".1f") for n in numbers)
    return say(
        "{rate} % of rated a year, very likely {low} to {high}", rate=rate, low=low, high=high
    )


def overlaid_curves_chart(curves: Sequence[LaidCurve]) -> Chart | None:
    """The curves with their sentence and their numbers; None where there are none."""
    if not curves:
        return None
    ends = (
        say(
            "{name} ends at {cell_v:.2f} V a cell after {charge_percent:.0f} % of its rated charge",
            name=one.name,
            cell_v=one.cell_v[-1],
            charge_percent=one.charge_percent[-1],
        )
        for one in curves
    )
    title = say("Newest discharge curves, V a cell against charge in % of rated")
    caption = say("The newest measured tests: volts a cell against % of rated, as read.")
    draw = partial(overlaid_curves_figure, curves)
    return Chart("laid-curves", title, sentence(*ends), draw, caption)


def overlaid_curves_figure(curves: Sequence[LaidCurve], reader: Reader = ENGLISH) -> Figure:
    """Volts a cell against the charge counted in % of rated."""
    traces = []
    charges = [value for curve in curves for value in curve.charge_percent]
    volts = [value for curve in curves for value in curve.cell_v]
    ends = ((0.0, _ROOM * max(charges)), (min(volts) - 0.03, max(volts) + 0.03))
    for number, curve in enumerate(curves):
        color, _, dash = theme.SERIES[number % len(theme.SERIES)]
        on = written_day(curve.on_date)
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": joined(", ", (plain(curve.name), on)),
                "x": [round(value, 3) for value in curve.charge_percent],
                "y": [round(value, 4) for value in curve.cell_v],
                "line": {"color": color, "width": 2, "dash": dash},
                "hovertemplate": theme.hover(say("%{y:.3f} V a cell at %{x:.1f} %"), on),
            }
        )
    layout = theme.layout(
        HEIGHT_PX + theme.TOP_PX + theme.BOTTOM_PX,
        xaxis=theme.axis(say("charge counted (% of rated)"), range=[0, round(ends[0][1], 3)]),
        yaxis=theme.axis(say("voltage (V a cell)"), range=list(ends[1])),
        annotations=_curve_names(curves, ends, reader),
    )
    return {"data": traces, "layout": layout}


def _curve_names(curves: Sequence[LaidCurve], ends: AxisEnds, reader: Reader) -> list[Figure]:
    """The name of each curve beside it, on no other."""
    plot = LabelPlot(*ends, reader=reader)
    lines = [spread(curve.charge_percent, curve.cell_v) for curve in curves]
    for line in lines:
        plot.draw(line)
    labels = []
    for number, (curve, line) in enumerate(zip(curves, lines, strict=True)):
        # Below its end, where it has not been; or above it, before it falls.
        spots = along(line, ("right", "top"))
        for off_px in (4, 14, 28):
            spots += along(line, ("right", "bottom"), off_px=off_px)
        name, color = plain(curve.name), theme.SERIES[number % len(theme.SERIES)][0]
        labels.append(placed(name, plot.best(name, spots), color))
    return labels


def plain(name: str) -> str:
    """A name as the chart library is to show it: it reads tags and entities in texts."""
    return transformed(name, _plain)


def _plain(name: str) -> str:
    short = name if len(name) <= MAX_LABEL_LENGTH else name[: MAX_LABEL_LENGTH - 1] + "…"
    return html.escape(short, quote=False)


def _line(name: str, number: int, points: Sequence[tuple[float, ComparedPoint]]) -> Figure:
    color, _, dash = theme.SERIES[number % len(theme.SERIES)]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": say("{name}, line of its rate", name=name),
        "legendgroup": name,
        "showlegend": False,
        "x": [round(at, 4) for at, _ in points],
        "y": [round(p.fitted_percent or 0.0, 3) for _, p in points],
        "line": {"color": color, "width": 2, "dash": dash},
        "hoverinfo": "skip",
    }


def _measured(name: str, number: int, points: Sequence[tuple[float, ComparedPoint]]) -> Figure:
    color, symbol, _ = theme.SERIES[number % len(theme.SERIES)]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": name,
        "legendgroup": name,
        "x": [round(at, 4) for at, _ in points],
        "y": [round(p.percent, 3) for _, p in points],
        "error_y": error_bars((p.expanded_percent for _, p in points), color),
        "marker": {"size": 9, "color": color, "symbol": symbol},
        "text": [written_day(p.on_date) for _, p in points],
        "hovertemplate": theme.hover(say("%{y:.1f} ± %{error_y.array:.1f} % of rated"), "%{text}"),
    }


def _bounds(name: str, number: int, points: Sequence[tuple[float, ComparedPoint]]) -> Figure:
    color, _, _ = theme.SERIES[number % len(theme.SERIES)]
    return {
        **bound_marks(color, 13),
        "type": "scatter",
        "name": say("{name}, at least (does not enter)", name=name),
        "legendgroup": name,
        "x": [round(at, 4) for at, _ in points],
        "y": [round(p.percent, 3) for _, p in points],
        "text": [written_day(p.on_date) for _, p in points],
        "hovertemplate": theme.hover(say("at least %{y:.1f} % of rated"), "%{text}"),
    }


Placed = Sequence[tuple[float, ComparedPoint]]


def _measured_of(side: ComparedSide) -> list[ComparedPoint]:
    return [point for point in side.points if point.kind is EvidenceKind.MEASURED]


def _drawn(name: str, measured: Placed, fitted: Placed, bounds: Placed) -> DrawnLine:
    """What a side takes of the plot."""
    of, by = [(x, p.percent) for x, p in measured], [p.expanded_percent for _, p in measured]
    return DrawnLine(
        name,
        tuple((x, y - half, y + half) for (x, y), half in zip(of, by, strict=True)),
        tuple((x, p.fitted_percent or 0.0) for x, p in fitted),
        _places(bounds),
    )


def _places(points: Placed) -> tuple[tuple[float, float], ...]:
    return tuple((x, p.percent) for x, p in points)


def _text(name: str, number: int, place: LabelPosition) -> Figure:
    """The name itself, so that no colour has to be told from another."""
    color = theme.SERIES[number % len(theme.SERIES)][0]
    return {
        "x": round(place.x, 4),
        "y": round(place.y, 4),
        "xanchor": place.xanchor,
        "yanchor": place.yanchor,
        "yshift": place.yshift,
        "text": name,
        "showarrow": False,
        "font": {"color": color, "size": 12},
    }


def _move(x: float) -> Figure:
    return {
        "type": "line",
        "yref": "paper",
        "x0": round(x, 4),
        "x1": round(x, 4),
        "y0": 0,
        "y1": 1,
        "line": {"color": theme.MUTED, "width": 1, "dash": "dashdot"},
    }
