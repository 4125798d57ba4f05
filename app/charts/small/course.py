"""One test over time, in about a thousand characters: the charge left, and the voltage below."""

from collections.abc import Callable, Sequence
from typing import Protocol

from app.analysis.reports.discharge_report import Row
from app.charts.svg_element import Element, add, text_of
from app.domain.i18n.message import ENGLISH, Reader, say

Point = tuple[float, float]
Place = Callable[[float], float]
_WIDTH, _LEFT, _RIGHT = 720, 110, 700
# Where the panel of the charge begins and ends, and the one of the voltage.
_CHARGE, _VOLTS = (20, 210), (240, 330)
_HEIGHT, _BASE = 372, 364
# A line goes by its readings this closely, in units: half a pixel on a telephone.
_CLOSE = 1.0


class DrawnTest(Protocol):
    """What of a test is drawn."""

    @property
    def rows(self) -> tuple[Row, ...]: ...
    @property
    def rated_ah(self) -> float: ...
    @property
    def expected_run_time_to_empty_h(self) -> float | None: ...


def small_course(test: DrawnTest, reader: Reader = ENGLISH) -> str:
    """The picture; empty where the test has no readings under load."""
    promised_h = test.expected_run_time_to_empty_h
    if not test.rows or promised_h is None:
        return ""
    last = test.rows[-1]
    until = max(promised_h, last.elapsed_h)
    low = min(0.0, *(row.remaining_ah for row in test.rows))
    x = _place(0.0, until, _LEFT, _RIGHT)
    y = _place(low, test.rated_ah, _CHARGE[1], _CHARGE[0])
    root = Element("svg", {"viewBox": f"0 0 {_WIDTH} {_HEIGHT}", "role": "img"})
    root.set("aria-label", reader.read(_words(test)))
    edges = [f"M{_LEFT} {round(y(0))}H{_RIGHT}"]
    promised = [(x(0), y(test.rated_ah)), (x(promised_h), y(0))]
    add(root, "path", d=line(promised), **{"class": "promised"})
    counted = [(x(row.elapsed_h), y(row.remaining_ah)) for row in test.rows]
    add(root, "path", d=line(counted), **{"class": "drawn"})
    names = [(_CHARGE[0] + 9, f"{test.rated_ah:g} Ah"), (y(0) + 9, "0")]
    volts = [(row.elapsed_h, row.voltage_v) for row in test.rows if row.voltage_v is not None]
    if len(volts) > 1:
        ends = min(v for _, v in volts), max(v for _, v in volts)
        level = _place(*ends, _VOLTS[1], _VOLTS[0])
        edges.append(f"M{_LEFT} {_VOLTS[1]}H{_RIGHT}")
        add(root, "path", d=line([(x(at), level(v)) for at, v in volts]), **{"class": "drawn"})
        names += [(level(v) + 9, say("{volts:.1f} V", volts=v)) for v in dict.fromkeys(ends)]
    add(root, "path", d="".join(edges), **{"class": "edge"})
    beside = add(root, "g", **{"class": "names"})
    for at, text in names:
        add(beside, "text", reader.read(text), x=str(_LEFT - 12), y=str(round(at)))
    end = say("{hours:.1f} h", hours=last.elapsed_h)
    add(beside, "text", reader.read(end), x=str(max(200, round(x(last.elapsed_h)))), y=str(_BASE))
    add(root, "text", "0", x=str(_LEFT), y=str(_BASE))
    return text_of(root)


def _words(test: DrawnTest) -> str:
    last = test.rows[-1]
    return say(
        "{counted_ah:.1f} Ah counted in {elapsed_h:.1f} h",
        counted_ah=last.counted_ah,
        elapsed_h=last.elapsed_h,
    )


def _place(low: float, high: float, first: float, last: float) -> Place:
    """From a value to its place between first and last."""
    span = high - low
    return lambda value: first + (last - first) * ((value - low) / span if span else 0.5)


def line(points: Sequence[Point]) -> str:
    """A line in whole units, without the points that it passes anyway."""
    kept = [(round(x), round(y)) for x, y in _fewer(points)]
    return "M" + "L".join(f"{x} {y}" for x, y in kept)


def _fewer(points: Sequence[Point]) -> list[Point]:
    """Only the points that the line needs (Ramer 1972, Douglas and Peucker 1973)."""
    needed, parts = {0, len(points) - 1}, [(0, len(points) - 1)]
    while parts:
        first, last = parts.pop()
        if last - first < 2:
            continue
        away = [_distance(points[i], points[first], points[last]) for i in range(first + 1, last)]
        if max(away) > _CLOSE:
            middle = first + 1 + away.index(max(away))
            needed.add(middle)
            parts += [(first, middle), (middle, last)]
    return [points[i] for i in sorted(needed)]


def _distance(point: Point, start: Point, end: Point) -> float:
    """How far a point lies above or below the line, in units: time never runs back."""
    wide = end[0] - start[0]
    share = (point[0] - start[0]) / wide if wide else 0.0
    return abs(point[1] - start[1] - share * (end[1] - start[1]))
