"""Batteries laid over one another: trends on a common axis, and discharge curves."""

import html
from collections.abc import Sequence
from typing import Any

from app.analysis.comparison_axis import LaidAxis
from app.analysis.comparison_side import ComparedPoint, ComparedSide
from app.analysis.laid_curves import LaidCurve
from app.charts import theme
from app.domain.finding import Kind

Figure = dict[str, Any]
LONGEST_LABEL = 24
ARROW_PX = 22


def trends_chart(sides: Sequence[ComparedSide], axis: LaidAxis) -> Figure:
    """Tests in % of rated with their 95 % intervals and the line of each rate, as plain data.

    Every side has its colour, its symbol, its dash and its name beside its line.
    """
    traces: list[Figure] = []
    labels: list[Figure] = []
    for number, (side, x) in enumerate(zip(sides, axis.x, strict=True)):
        name = plain(side.name)
        placed = [(at, p) for at, p in zip(x, side.points, strict=True) if at is not None]
        measured = [(at, p) for at, p in placed if p.kind is Kind.MEASURED]
        bounds = [(at, p) for at, p in placed if p.kind is Kind.AT_LEAST]
        fitted = [(at, p) for at, p in measured if p.fitted_percent is not None]
        if fitted:
            traces.append(_line(name, number, fitted))
        if measured:
            traces.append(_measured(name, number, measured))
            labels.append(_label(name, number, measured))
        if bounds:
            traces.append(_bounds(name, number, bounds))
            labels += [_arrow(number, at, p.percent) for at, p in bounds]
    layout = theme.layout(
        460,
        xaxis=theme.axis(f"{axis.label} ({axis.unit})"),
        yaxis=theme.axis("capacity (% of rated)"),
        annotations=labels,
        shapes=[] if axis.move_x is None else [_move(axis.move_x)],
    )
    return {"data": traces, "layout": layout}


def laid_curves_chart(curves: Sequence[LaidCurve]) -> Figure:
    """Volts a cell against the charge counted in % of rated."""
    traces, labels = [], []
    for number, curve in enumerate(curves):
        color, _, dash = theme.SERIES[number % len(theme.SERIES)]
        on = f"{curve.on_date.day} {curve.on_date:%b %Y}"
        traces.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": f"{plain(curve.name)}, {on}",
                "x": [round(value, 3) for value in curve.charge_percent],
                "y": [round(value, 4) for value in curve.cell_v],
                "line": {"color": color, "width": 2, "dash": dash},
                "hovertemplate": f"%{{y:.3f}} V a cell at %{{x:.1f}} %<br>{on}<extra></extra>",
            }
        )
        middle = len(curve.charge_percent) // 2
        labels.append(
            _text(plain(curve.name), number, curve.charge_percent[middle], curve.cell_v[middle])
        )
    layout = theme.layout(
        420,
        xaxis=theme.axis("charge counted (% of rated)", rangemode="tozero"),
        yaxis=theme.axis("voltage (V a cell)"),
        annotations=labels,
    )
    return {"data": traces, "layout": layout}


def plain(name: str) -> str:
    """A name as the chart library is to show it: it reads tags and entities in texts."""
    short = name if len(name) <= LONGEST_LABEL else name[: LONGEST_LABEL - 1] + "…"
    return html.escape(short, quote=False)


def _line(name: str, number: int, points: Sequence[tuple[float, ComparedPoint]]) -> Figure:
    color, _, dash = theme.SERIES[number % len(theme.SERIES)]
    return {
        "type": "scatter",
        "mode": "lines",
        "name": f"{name}, line of its rate",
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
        "error_y": {
            "type": "data",
            "array": [round(p.expanded_percent, 3) for _, p in points],
            "color": color,
            "thickness": 1.2,
            "width": 4,
        },
        "marker": {"size": 9, "color": color, "symbol": symbol},
        "text": [f"{p.on_date.day} {p.on_date:%b %Y}" for _, p in points],
        "hovertemplate": "%{y:.1f} ± %{error_y.array:.1f} % of rated<br>%{text}<extra></extra>",
    }


def _bounds(name: str, number: int, points: Sequence[tuple[float, ComparedPoint]]) -> Figure:
    color, _, _ = theme.SERIES[number % len(theme.SERIES)]
    return {
        "type": "scatter",
        "mode": "markers",
        "name": f"{name}, at least (does not enter)",
        "legendgroup": name,
        "x": [round(at, 4) for at, _ in points],
        "y": [round(p.percent, 3) for _, p in points],
        "marker": {
            "size": 13,
            "symbol": "line-ew-open",
            "color": color,
            "line": {"width": 3, "color": color},
        },
        "text": [f"{p.on_date.day} {p.on_date:%b %Y}" for _, p in points],
        "hovertemplate": "at least %{y:.1f} % of rated<br>%{text}<extra></extra>",
    }


def _arrow(number: int, x: float, y: float) -> Figure:
    """The true value lies above, how far is not known."""
    return {
        "x": round(x, 4),
        "y": round(y, 3),
        "yshift": ARROW_PX,
        "ax": 0,
        "ay": ARROW_PX,
        "text": "",
        "showarrow": True,
        "arrowhead": 2,
        "arrowwidth": 2,
        "arrowcolor": theme.SERIES[number % len(theme.SERIES)][0],
    }


def _label(name: str, number: int, points: Sequence[tuple[float, ComparedPoint]]) -> Figure:
    at, last = points[-1]
    low = last.percent - last.expanded_percent
    return _text(name, number, at, low, below=True)


def _text(name: str, number: int, x: float, y: float, *, below: bool = False) -> Figure:
    """The name itself, so that no colour has to be told from another."""
    color = theme.SERIES[number % len(theme.SERIES)][0]
    return {
        "x": round(x, 4),
        "y": round(y, 4),
        "xanchor": "right" if below else "center",
        "yanchor": "top" if below else "bottom",
        "yshift": -2 if below else 4 + 14 * number,
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
