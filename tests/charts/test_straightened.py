"""Lines without the points that do not bend them, each dropped point held against what is drawn."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.charts.svg_marks import BESIDE, path, straightened

pytestmark = pytest.mark.any_database

STRAIGHT = [(float(x), 38.3 + 0.1875 * x) for x in range(61)]
WALK = st.lists(
    st.tuples(st.floats(-8, 8), st.floats(-0.3, 0.3) | st.floats(-40, 40)), min_size=1, max_size=60
)


def walked(steps):
    """Points that follow each other, most of them nearly straight on."""
    points, x, y = [], 0.0, 0.0
    for across, up in steps:
        x, y = x + across, y + up
        points.append((x, y))
    return points


def distance(point, start, end):
    """From a point to a line between two others, by projection."""
    (x, y), (x0, y0), (x1, y1) = point, start, end
    long = math.hypot(x1 - x0, y1 - y0)
    if not long:
        return math.hypot(x - x0, y - y0)
    along = ((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / long**2
    along = min(1.0, max(0.0, along))
    return math.hypot(x - x0 - along * (x1 - x0), y - y0 - along * (y1 - y0))


def places_of(kept, points):
    """Where the kept points stand among all, in their order."""
    at = 0
    for one in kept:
        at = points.index(one, at)
        yield at
        at += 1


@given(WALK)
def test_each_dropped_point_lies_on_the_line_that_is_drawn(steps):
    points = walked(steps)
    kept = straightened(points)
    assert (kept[0], kept[-1]) == (points[0], points[-1])
    places = [*places_of(kept[:-1], points), len(points) - 1]
    for start, end in pairwise(places):
        for point in points[start + 1 : end]:
            assert distance(point, points[start], points[end]) <= BESIDE + 1e-9


def test_a_straight_line_is_its_two_ends():
    assert straightened(STRAIGHT) == [STRAIGHT[0], STRAIGHT[-1]]
    assert path(STRAIGHT) == "M0 38.3L60 49.5"


def test_a_bend_stays_where_it_is():
    top = STRAIGHT[-1]
    up_and_down = [*STRAIGHT, *((top[0] + n, top[1] - n) for n in range(1, 9))]
    assert straightened(up_and_down) == [STRAIGHT[0], top, up_and_down[-1]]


def test_a_line_that_goes_back_on_itself_reaches_as_far_as_before():
    there_and_back = [(0.0, 0.0), (9.0, 0.0), (3.0, 0.0)]
    assert straightened(there_and_back) == there_and_back


def test_a_gap_stays_a_gap():
    assert straightened([None, *STRAIGHT, None, (70.0, 1.0), None]) == [
        None,
        STRAIGHT[0],
        STRAIGHT[-1],
        None,
        (70.0, 1.0),
        None,
    ]
    assert straightened([]) == []
