"""Where the name of a line stands in a chart: beside one of its points, on nothing that is drawn.

Places are judged for the narrowest plot (a phone's): a label that is clear there is clear in every
wider one, for it covers less of the axis.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.charts.event_marks import LETTER_PX, NARROWEST_PX

HEIGHT_PX = 318
LABEL_PX = 15
ARROW_PX = 22
_BESIDE_PX = 2
_STEP_PX = 3
Pixels = NDArray[np.float64]


@dataclass(frozen=True)
class DrawnLine:
    """What a line and its points take of the plot, in units of its axes.

    bars are (x, lower end, upper end); line is its corners (x, y), none where there is no line;
    arrows begin at (x, y) and go up.
    """

    name: str
    bars: tuple[tuple[float, float, float], ...]
    line: tuple[tuple[float, float], ...] = ()
    arrows: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class LabelPosition:
    """A point in units of the axes, with what of the label lies on it, and how far off it is."""

    x: float
    y: float
    xanchor: str
    yanchor: str
    yshift: int


def places(lines: Sequence[DrawnLine], upright: float | None = None) -> list[LabelPosition]:
    """A place for the name of each, those before it being in the way of the next.

    upright is where a line goes from top to bottom. Each needs a bar.
    """
    plot = _Plot(lines, upright)
    middle = sum(one.bars[-1][1] for one in lines) / max(1, len(lines))
    return [plot.place(one, higher=one.bars[-1][1] > middle) for one in lines]


class _Plot:
    """The narrowest plot, in px, with dots for all that is drawn."""

    def __init__(self, lines: Sequence[DrawnLine], upright: float | None) -> None:
        bars = [bar for one in lines for bar in one.bars]
        arrows = [arrow for one in lines for arrow in one.arrows]
        self._x = _scale([x for x, *_ in (*bars, *arrows)], NARROWEST_PX)
        self._y = _scale([y for _, *ends in (*bars, *arrows) for y in ends], HEIGHT_PX)
        dots = [self._dots([(x, low), (x, high)]) for x, low, high in bars]
        dots += [self._dots([(x, y), (x, y + ARROW_PX / self._y[1])]) for x, y in arrows]
        dots += [self._dots(one.line) for one in lines if one.line]
        if upright is not None:
            height = np.arange(0.0, HEIGHT_PX, _STEP_PX)
            at = np.full(len(height), _px(upright, self._x))
            dots.append(np.column_stack((at, height)))
        self._taken = np.concatenate(dots)

    def place(self, one: DrawnLine, *, higher: bool) -> LabelPosition:
        width = LETTER_PX * len(one.name)
        found = list(_candidates(one, higher))
        boxes = [self._box(each, width) for each in found]
        best = int(np.argmin([self._in_the_way(box) for box in boxes]))
        left, low, right, high = boxes[best]
        across, up = np.arange(left, right, _STEP_PX), np.arange(low, high + 1, _STEP_PX)
        label = np.array(np.meshgrid(across, up)).reshape(2, -1).T
        self._taken = np.concatenate((self._taken, label))
        return found[best]

    def _box(self, one: LabelPosition, width: float) -> Pixels:
        """Left, lower, right and upper end of a label."""
        x, y = _px(one.x, self._x), _px(one.y, self._y) + one.yshift
        left = x if one.xanchor == "left" else x - width
        low = y if one.yanchor == "bottom" else y - LABEL_PX
        return np.array([left, low, left + width, low + LABEL_PX])

    def _in_the_way(self, box: Pixels) -> int:
        """How many dots a label would lie on; more than any of them where it would not fit."""
        left, low, right, high = box
        x, y = self._taken[:, 0], self._taken[:, 1]
        dots = int(np.count_nonzero((x > left - _STEP_PX) & (x < right) & (y > low) & (y < high)))
        outside = left < 0 or right > NARROWEST_PX or low < 0 or high > HEIGHT_PX
        return dots + (len(x) if outside else 0)

    def _dots(self, corners: Sequence[tuple[float, float]]) -> Pixels:
        at = np.array([(_px(x, self._x), _px(y, self._y)) for x, y in corners])
        return np.concatenate((at, *map(_between, at, at[1:])))


def _candidates(one: DrawnLine, higher: bool) -> Iterator[LabelPosition]:
    """Beside its last test, its first, and then the others: above the higher line first."""
    bars = (one.bars[-1], one.bars[0], *reversed(one.bars[1:-1]))
    for above in (higher, not higher):
        for number, (x, low, high) in enumerate(bars):
            for xanchor in ("left", "right") if number == 1 else ("right", "left"):
                if above:
                    yield LabelPosition(x, high, xanchor, "bottom", _BESIDE_PX)
                else:
                    yield LabelPosition(x, low, xanchor, "top", -_BESIDE_PX)


def _between(one: Pixels, other: Pixels) -> Pixels:
    count = 1 + int(np.hypot(*(other - one)) / _STEP_PX)
    return np.linspace(one, other, count)


def _scale(values: Sequence[float], length_px: int) -> tuple[float, float]:
    """Where the axis begins and its px a unit: a twentieth is left free on either side."""
    low, high = min(values), max(values)
    room = (high - low or 1.0) / 18
    return low - room, length_px / (high - low + 2 * room)


def _px(value: float, scale: tuple[float, float]) -> float:
    return (value - scale[0]) * scale[1]
