"""A small picture of a battery's trend for lists: intervals, bounds and the threshold, no words."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

from app.analysis.battery.battery_report import BatteryReport, TestSummary
from app.analysis.projection.end_of_life import FanPoint
from app.charts import theme
from app.charts.battery_chart import trend_words
from app.charts.capacity_scale import capacity_range
from app.charts.projection_marks import drawn_end, fan_points
from app.charts.svg_element import Element, add, brief, paint, picture, stroke, text_of
from app.charts.svg_marks import path
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import ENGLISH, Reader
from app.domain.legible import legible

WIDTH, HEIGHT, EDGE = 240.0, 84.0, 7.0
DOT, ARROW = 3.2, 7.0
# More tests than this have smaller dots, or they would hide their bars.
MANY = 24


def _frame() -> Element:
    root = picture(WIDTH, HEIGHT, _WORDS, "", 10.0)
    root.set("width", brief(WIDTH))
    root.set("height", brief(HEIGHT))
    return root


_WORDS = "words"
_BEFORE_WORDS, _BEHIND_WORDS = text_of(_frame()).removesuffix("</svg>").split(_WORDS)


@dataclass(frozen=True)
class _Mark:
    """A test to be drawn, its ends in Ah; a bound has its value at the lower end."""

    day: int
    kind: EvidenceKind
    left_out: bool
    value: float
    low: float
    high: float


@dataclass(frozen=True)
class SmallTrend:
    """The picture: what is drawn, which is the same for every reader, and one sentence for whoever
    cannot see it."""

    words: str
    drawn: str

    def svg(self, reader: Reader = ENGLISH) -> str:
        """The picture for a reader."""
        words = escape(legible(reader.read(self.words)), quote=False)
        return f"{_BEFORE_WORDS}{words}{_BEHIND_WORDS}{self.drawn}</svg>"


def small_trend(report: BatteryReport) -> SmallTrend | None:
    """The trend of a battery; None where no test has a result."""
    marks = tuple(_mark(test) for test in report.tests if test.kind is not EvidenceKind.UNUSABLE)
    if not marks:
        return None
    threshold_ah = report.end_of_life.threshold_ah
    scale = capacity_range(report.tests, report.rated_ah, threshold_ah)
    fan = () if report.fade is None else fan_points(drawn_end(report.end_of_life), report.fade)
    levels = [(report.rated_ah, theme.MUTED, "dot")]
    if threshold_ah is not None:
        levels.append((threshold_ah, theme.THRESHOLD, "dash"))
    return SmallTrend(trend_words(report), _drawn(marks, fan, scale, levels))


def _mark(test: TestSummary) -> _Mark:
    measured = test.kind is EvidenceKind.MEASURED
    value = test.capacity_ah if measured else test.lower_ah
    half = test.expanded_ah if measured else 0.0
    left_out = bool(test.left_out_reason)
    return _Mark(
        test.started_at.toordinal(), test.kind, left_out, value, value - half, value + half
    )


def _drawn(
    marks: Sequence[_Mark],
    fan: Sequence[FanPoint],
    scale: tuple[float, float],
    levels: Sequence[tuple[float, str, str]],
) -> str:
    """What stands in the frame; levels are Ah, colour and dash of the lines across."""
    first, last = marks[0].day, max(mark.day for mark in marks)
    if fan:
        last = max(last, fan[-1].on_date.toordinal())

    def x(day: int) -> float:
        share = (day - first) / (last - first) if last > first else 0.5
        return EDGE + (WIDTH - 2 * EDGE) * share

    def y(value: float) -> float:
        return HEIGHT * (1 - (value - scale[0]) / (scale[1] - scale[0]))

    root = Element("g")
    _draw_fan(root, [(x(point.on_date.toordinal()), point) for point in fan], y)
    for level, color, dash in levels:
        line = stroke({"color": color, "width": 1, "dash": dash})
        add(root, "path", d=f"M0 {brief(y(level))}H{brief(WIDTH)}", fill="none", **line)
    counted = [mark for mark in marks if not mark.left_out]
    measured = [(mark, x(mark.day)) for mark in counted if mark.kind is EvidenceKind.MEASURED]
    bars = "".join(f"M{brief(at)} {brief(y(m.high))}V{brief(y(m.low))}" for m, at in measured)
    dots = "".join(f"M{brief(at)} {brief(y(m.value))}h0" for m, at in measured)
    bounds = "".join(
        _bound(x(mark.day), y(mark.value)) for mark in counted if mark.kind is EvidenceKind.AT_LEAST
    )
    size = DOT if len(measured) <= MANY else DOT / 2
    for d, color, width, cap in (
        (bars, theme.MEASURED, 1.4, "butt"),
        (dots, theme.MEASURED, size, "round"),
        (bounds, theme.BOUND, 1.5, "butt"),
    ):
        if d:
            look = stroke({"color": color, "width": width})
            add(root, "path", d=d, fill="none", stroke_linecap=cap, **look)
    for mark in marks:
        if mark.left_out:
            look = stroke({"color": theme.MUTED, "width": 1})
            add(root, "circle", cx=x(mark.day), cy=y(mark.value), r=DOT / 2, fill="none", **look)
    return "".join(text_of(one) for one in root)


def _draw_fan(
    root: Element, points: Sequence[tuple[float, FanPoint]], y: Callable[[float], float]
) -> None:
    """Where it is going, as in the large picture: 90 %, 50 % and the middle."""
    if not points:
        return

    def level(value: float) -> float:
        return min(y(value), HEIGHT)

    for low, high, color in (("p05", "p95", theme.BAND), ("p25", "p75", theme.INNER_BAND)):
        upper = [(at, level(getattr(point, high))) for at, point in points]
        lower = [(at, level(getattr(point, low))) for at, point in reversed(points)]
        add(root, "path", d=path([*upper, *lower]) + "Z", **paint(color))
    middle = [(at, y(point.p50)) for at, point in points if y(point.p50) <= HEIGHT]
    look = stroke({"color": theme.MEASURED, "width": 1.2, "dash": "dot"})
    add(root, "path", d=path(middle), fill="none", **look)


def _bound(x: float, y: float) -> str:
    """A dash with an arrow upwards: the true value lies above."""
    tip = y - ARROW
    head = f"M{brief(x - 2.5)} {brief(tip + 3)}L{brief(x)} {brief(tip)}L{brief(x + 2.5)} "
    return f"M{brief(x - 4)} {brief(y)}h8M{brief(x)} {brief(y)}V{brief(tip)}{head}{brief(tip + 3)}"
