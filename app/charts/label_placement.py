"""Where a name stands in a chart: beside what it names, on nothing that is drawn.

Places are judged for the narrowest plot (a phone's): a label that is clear there is clear in every
wider one, for it covers less of the axis.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.charts import theme
from app.charts.event_marks import NARROWEST_PX, label_width
from app.charts.theme import Figure
from app.domain.i18n.message import ENGLISH, Reader

HEIGHT_PX = 318
LABEL_PX = 15
ARROW_PX = 22
_BESIDE_PX = 2
_STEP_PX = 3
# Where along a line its name may stand.
_PLACES = 40
# A name on another cannot be read; one on a line can.
_OF_A_LABEL = 1000
Pixels = NDArray[np.float64]
AxisEnds = tuple[tuple[float, float], tuple[float, float]]


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
    yshift: int = 0
    xshift: int = 0


class LabelPlot:
    """The narrowest plot, in px, with dots for all that is drawn and written in it."""

    def __init__(
        self,
        x: tuple[float, float],
        y: tuple[float, float],
        height_px: float = HEIGHT_PX,
        reader: Reader = ENGLISH,
    ) -> None:
        """x and y are the ends of its axes; names are as long as they are for the reader."""
        self._reader = reader
        self._x = (x[0], NARROWEST_PX / (x[1] - x[0]))
        self._y = (y[0], height_px / (y[1] - y[0]))
        self._height = height_px
        self._taken, self._thin = np.empty((0, 2)), np.empty((0, 2))
        self._written: list[Pixels] = []

    @property
    def lowest(self) -> float:
        """The lower end of its axis."""
        return self._y[0]

    def draw(self, corners: Sequence[tuple[float, float]]) -> None:
        """A line through its corners."""
        self._taken = np.concatenate((self._taken, self._dots(corners)))

    def draw_level(self, ends: tuple[float, float], y: float, thick_px: float) -> None:
        """A thick line along the plot."""
        for up in (-thick_px / 2, thick_px / 2):
            self.draw([(x, y + up / self._y[1]) for x in ends])

    def draw_arrow(self, x: float, y: float, length_px: float = ARROW_PX) -> None:
        """An arrow upwards from a place."""
        self.draw([(x, y), (x, y + length_px / self._y[1])])

    def draw_upright(self, x: float) -> None:
        """A line from the bottom to the top."""
        self.draw(self._upright(x))

    def draw_thin(self, x: float) -> None:
        """A thin line from the bottom to the top: a name that has no other place crosses it."""
        self._thin = np.concatenate((self._thin, self._dots(self._upright(x))))

    def best(self, text: str, candidates: Sequence[LabelPosition]) -> LabelPosition:
        """The first of the places that has least in its way; it is taken from then on."""
        boxes = [self._box(each, label_width(text, self._reader)) for each in candidates]
        ways = [self._in_the_way(box) + _within(box, self._thin) for box in boxes]
        chosen = int(np.argmin(ways))
        self._written.append(boxes[chosen])
        return candidates[chosen]

    def clear(self, text: str, candidates: Sequence[LabelPosition]) -> LabelPosition | None:
        """The first of the places that has nothing in its way, or none; rather one that crosses no
        thin line."""
        boxes = [(each, self._box(each, label_width(text, self._reader))) for each in candidates]
        free = [pair for pair in boxes if not self._in_the_way(pair[1])]
        if not free:
            return None
        chosen, box = min(free, key=lambda pair: _within(pair[1], self._thin))
        self._written.append(box)
        return chosen

    def _upright(self, x: float) -> list[tuple[float, float]]:
        return [(x, self._y[0]), (x, self._y[0] + self._height / self._y[1])]

    def _dots(self, corners: Sequence[tuple[float, float]]) -> Pixels:
        at = np.array([(_px(x, self._x), _px(y, self._y)) for x, y in corners])
        return np.concatenate((at, *map(_between, at, at[1:])))

    def _box(self, one: LabelPosition, width: float) -> Pixels:
        """Left, lower, right and upper end of a label."""
        x, y = _px(one.x, self._x) + one.xshift, _px(one.y, self._y) + one.yshift
        left = x - {"left": 0.0, "center": width / 2, "right": width}[one.xanchor]
        low = y - {"bottom": 0.0, "middle": LABEL_PX / 2, "top": LABEL_PX}[one.yanchor]
        return np.array([left, low, left + width, low + LABEL_PX])

    def _in_the_way(self, box: Pixels) -> float:
        """How many dots a label would lie on, another label counting as many; more than any of
        them where it would not fit, the more of it is outside."""
        left, low, right, high = box
        dots = _within(box, self._taken) + _OF_A_LABEL * sum(
            bool(left < one[2] and one[0] < right and low < one[3] and one[1] < high)
            for one in self._written
        )
        outside = float(max(0.0, -left, right - NARROWEST_PX, -low, high - self._height))
        if outside:
            dots += len(self._taken) + _OF_A_LABEL * (1 + len(self._written))
        return dots + _OF_A_LABEL * outside


def along(
    points: Sequence[tuple[float, float]], *sides: tuple[str, str], off_px: int = 4
) -> list[LabelPosition]:
    """Places beside a line, from its end backwards; a side is what of the label lies at a point."""
    across = {"left": off_px, "right": -off_px, "center": 0}
    up = {"bottom": off_px, "top": -off_px, "middle": 0}
    return [
        LabelPosition(x, y, side, edge, up[edge], across[side])
        for x, y in reversed(points)
        for side, edge in sides
    ]


def on_level(level: float, ends: tuple[float, float]) -> list[LabelPosition]:
    """Places for the name of a level: above it and below it, from its left end on."""
    points = [(x, level) for x in np.linspace(*ends, _PLACES)[::-1].tolist()]
    return [
        spot
        for edge in ("bottom", "top")
        for spot in along(points, ("left", edge), ("right", edge), off_px=2)
    ]


def spread(x: Sequence[float], y: Sequence[float | None]) -> list[tuple[float, float]]:
    """A line at many of its places, evenly along its axis; gaps in it are bridged."""
    known = [(a, b) for a, b in zip(x, y, strict=True) if b is not None]
    own_x, own_y = np.array(known).T
    at = np.linspace(own_x[0], own_x[-1], _PLACES)
    return list(zip(at.tolist(), np.interp(at, own_x, own_y).tolist(), strict=True))


def placed(text: str, at: LabelPosition, color: str, x: float | str | None = None) -> Figure:
    """A label where it was placed; x is its place as the axis has it, where that is a date."""
    made = theme.label(text, round(at.x, 4) if x is None else x, round(at.y, 4), color)
    sides = {"xanchor": at.xanchor, "yanchor": at.yanchor}
    return made | sides | {"xshift": at.xshift, "yshift": at.yshift}


def named(
    plot: LabelPlot,
    lines: Sequence[tuple[str, str, Sequence[LabelPosition]]],
) -> list[Figure]:
    """A name for each (text, colour and where it may stand), left out where there is no room."""
    found = [(text, color, plot.clear(text, spots)) for text, color, spots in lines]
    return [placed(text, spot, color) for text, color, spot in found if spot is not None]


def places(
    lines: Sequence[DrawnLine],
    ends: AxisEnds,
    upright: float | None = None,
    reader: Reader = ENGLISH,
) -> list[LabelPosition]:
    """A place for the name of each, those before it being in the way of the next.

    upright is where a line goes from top to bottom. Each needs a bar.
    """
    plot = LabelPlot(*ends, reader=reader)
    for one in lines:
        for x, low, high in one.bars:
            plot.draw([(x, low), (x, high)])
        for x, y in one.arrows:
            plot.draw_arrow(x, y)
        if one.line:
            plot.draw(one.line)
    if upright is not None:
        plot.draw_upright(upright)
    middle = sum(one.bars[-1][1] for one in lines) / max(1, len(lines))
    return [plot.best(one.name, list(_candidates(one, one.bars[-1][1] > middle))) for one in lines]


def axis_ends(lines: Sequence[DrawnLine]) -> AxisEnds:
    """From where to where the axes go that show all of the lines, with room around them."""
    bars = [bar for one in lines for bar in one.bars]
    arrows = [arrow for one in lines for arrow in one.arrows]
    heights = [y for _, *both in (*bars, *arrows) for y in both]
    return _with_room([x for x, *_ in (*bars, *arrows)]), _with_room(heights)


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


def _within(box: Pixels, dots: Pixels) -> int:
    left, low, right, high = box
    x, y = dots[:, 0], dots[:, 1]
    return int(np.count_nonzero((x > left - _STEP_PX) & (x < right) & (y > low) & (y < high)))


def _between(one: Pixels, other: Pixels) -> Pixels:
    count = 1 + int(np.hypot(*(other - one)) / _STEP_PX)
    return np.linspace(one, other, count)


def _with_room(values: Sequence[float]) -> tuple[float, float]:
    """Where an axis begins and ends: a twentieth is left free on either side."""
    low, high = min(values, default=0.0), max(values, default=1.0)
    room = (high - low or 1.0) / 18
    return low - room, high + room


def _px(value: float, scale: tuple[float, float]) -> float:
    return (value - scale[0]) * scale[1]
