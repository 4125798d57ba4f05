"""Names in the chart of the fade: its levels and its unusual tests, clear of what is drawn."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from app.analysis.battery.battery_report import TestSummary
from app.analysis.fade.fade import Fade
from app.analysis.projection.end_of_life import FanPoint
from app.charts import theme
from app.charts.label_placement import LabelPlot, LabelPosition, placed
from app.charts.theme import Figure
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import say
from app.domain.units.rounding import rounded_down

# Of more tests of a kind the symbol alone is shown; the caption says what it means.
MAX_NAMED = 3
_ARROW_PX = 26
_BESIDE_PX, _OVER_BAR_PX = 9, 5
# How a name may lie to its test (px), the middle first.
_ASIDE = (
    ("center", 0),
    *((side, sign * px) for px in (6, 20, 34) for side, sign in (("right", 1), ("left", -1))),
)


def draw_obstacles(
    plot: LabelPlot,
    tests: Sequence[TestSummary],
    fade: Fade,
    points: Sequence[FanPoint],
    today: date | None,
) -> None:
    """Everything of the picture that a name should not lie on."""
    for test in tests:
        at, half = _day_of(test), test.expanded_ah
        if test.left_out_reason or test.kind is EvidenceKind.MEASURED:
            plot.draw([(at, test.capacity_ah - half), (at, test.capacity_ah + half)])
        elif test.kind is EvidenceKind.AT_LEAST:
            plot.draw_arrow(at, test.lower_ah, _ARROW_PX)
    if fade.line is not None:
        span = fade.last_day - fade.first_day
        ends = ((fade.first_day, 0.0), (fade.last_day, span))
        plot.draw([(day, fade.line.at(since)) for day, since in ends])
    for name in ("p05", "p25", "p50", "p75", "p95"):
        if points:
            plot.draw([(p.on_date.toordinal(), max(plot.lowest, getattr(p, name))) for p in points])
    if today is not None:
        plot.draw_upright(today.toordinal())


def level_labels(
    threshold_ah: float | None,
    rated_ah: float,
    ends: tuple[date, date],
    plot: LabelPlot,
    today: date | None = None,
) -> list[Figure]:
    """The rated capacity and the threshold on their lines, each where there is most room: at an
    edge, or beside the line of today where that would go through the name."""
    # Tests start near the rated level and end near the threshold.
    labels = [(rated_ah, say("rated {ah:g} Ah", ah=rated_ah), theme.MUTED, ("right", "left"))]
    if threshold_ah is not None:
        text = say("limit {ah:g} Ah", ah=threshold_ah)
        labels.append((threshold_ah, text, theme.THRESHOLD, ("left", "right")))
    made = []
    for value, text, color, sides in labels:
        spots = [
            LabelPosition(ends[side == "right"].toordinal(), value, side, edge, 0, _inwards(side))
            for edge in ("bottom", "top")
            for side in sides
        ]
        if today is not None:
            spots += [
                LabelPosition(today.toordinal(), value, side, edge, 0, _inwards(side))
                for edge in ("bottom", "top")
                for side in sides
            ]
        # On a bar that covers the level.
        spots += [
            replace(one, yshift=_OVER_BAR_PX if one.yanchor == "bottom" else -_OVER_BAR_PX)
            for one in spots
        ]
        found = plot.best(text, spots)
        drawn = theme.level_label(text, value, color, found.xanchor, found.yanchor)
        if today is not None and found.x == today.toordinal():
            drawn |= {"xref": "x", "x": today.isoformat()}
        made.append(drawn | {"name": "level", "yshift": found.yshift})
    return made


def test_labels(
    bounds: Sequence[TestSummary], left_out: Sequence[TestSummary], plot: LabelPlot
) -> list[Figure]:
    """What a bound proves, and what was left out, beside the test where there is room."""
    wanted = []
    if len(bounds) <= MAX_NAMED:
        wanted += [
            (t, t.lower_ah, say("at least {ah:.0f} Ah", ah=rounded_down(t.lower_ah, 0)), 4)
            for t in bounds
        ]
    if len(left_out) <= MAX_NAMED:
        wanted += [(t, t.capacity_ah, say("left out"), 0) for t in left_out]
    made = []
    for test, level, text, up in wanted:
        color = theme.BOUND if up else theme.MUTED
        at = _day_of(test)
        spots = [
            LabelPosition(at, level, side, "bottom" if up else "middle", up, _inwards(side, 10))
            for side in ("left", "right")
        ]
        # Below it or above its arrow, where a line is beside it.
        spots += [
            LabelPosition(at, level, side, edge, shift, over)
            for edge, shift in (("top", -_BESIDE_PX), ("bottom", up + _ARROW_PX))
            for side, over in _ASIDE
        ]
        found = plot.clear(text, spots)
        if found is not None:
            moment = test.started_at.strftime("%Y-%m-%d %H:%M")
            made.append(placed(text, found, color, moment))
    return made


def _inwards(side: str, by_px: int = 4) -> int:
    return by_px if side == "left" else -by_px


def _day_of(test: TestSummary) -> float:
    return test.started_at.toordinal() + test.started_at.hour / 24
