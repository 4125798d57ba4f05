from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from app.charts.event_marks import LETTER_PX, NARROWEST_PX
from app.charts.fade_labels import level_labels
from app.charts.label_placement import (
    HEIGHT_PX,
    LABEL_PX,
    DrawnLine,
    LabelPlot,
    LabelPosition,
    axis_ends,
    on_level,
    places,
)


def falling(name, years, start, per_year, half=1.5):
    line = tuple((year, start - per_year * year) for year in years)
    return DrawnLine(name, tuple((x, y - half, y + half) for x, y in line), line)


BEFORE = falling("before the move", np.arange(0.5, 2.8, 0.25), 102.0, 3.7)
AFTER = falling("after the move", np.arange(3.0, 4.8, 0.25), 106.0, 5.0)
STEADY = falling("Cool", np.arange(0.5, 4.8, 0.5), 96.0, 0.5)


def box(lines, place, name, plot_px):
    """The label in px of a plot so wide, with the scales of both axes."""
    bars = [bar for one in lines for bar in one.bars]
    xs, ys = [x for x, _, _ in bars], [y for _, low, high in bars for y in (low, high)]
    scale_x = plot_px / ((max(xs) - min(xs)) * 10 / 9)
    scale_y = HEIGHT_PX / ((max(ys) - min(ys)) * 10 / 9)
    width = LETTER_PX * len(name)
    left = place.x * scale_x - (width if place.xanchor == "right" else 0)
    low = place.y * scale_y + place.yshift - (LABEL_PX if place.yanchor == "top" else 0)
    return (left, left + width, low, low + LABEL_PX), scale_x, scale_y


@pytest.mark.parametrize("plot_px", [NARROWEST_PX, 500, 980])
@pytest.mark.parametrize("lines", [(BEFORE, AFTER), (BEFORE, STEADY), (STEADY,)], ids=len)
def test_a_name_lies_on_no_line_and_on_no_bar(lines, plot_px):
    for one, place in zip(lines, places(lines, axis_ends(lines)), strict=True):
        (left, right, low, high), scale_x, scale_y = box(lines, place, one.name, plot_px)
        for other in lines:
            x = np.linspace(left, right, 200) / scale_x
            own, at = np.array(other.line).T
            inside = (x >= own[0]) & (x <= own[-1])
            y = np.interp(x, own, at)[inside] * scale_y
            assert not ((y > low) & (y < high)).any()
            for at_x, lower, upper in other.bars:
                beside = not left < at_x * scale_x < right
                assert beside or upper * scale_y <= low or lower * scale_y >= high


def test_names_do_not_lie_on_one_another():
    twins = (STEADY, DrawnLine("Warm", STEADY.bars, STEADY.line))
    first, second = places(twins, axis_ends(twins))
    assert first != second


def test_a_name_does_not_lie_on_the_line_of_the_move():
    place, _ = places((BEFORE, AFTER), axis_ends((BEFORE, AFTER)), 2.85)
    (left, right, _, _), scale_x, _ = box((BEFORE, AFTER), place, BEFORE.name, NARROWEST_PX)
    assert not left < 2.85 * scale_x < right


def test_the_name_of_a_level_stands_beside_the_line_of_today():
    first, last, today = date(2022, 1, 1), date(2028, 1, 1), date(2026, 10, 1)
    for limit in (None, 184.0):
        plot = LabelPlot((first.toordinal(), last.toordinal()), (150.0, 240.0))
        # Tests start at the rated level and end at the limit.
        plot.draw([(first.toordinal(), 232.0), (today.toordinal(), 186.0)])
        plot.draw_upright(today.toordinal())
        for note in level_labels(limit, 230.0, (first, last), plot, today):
            per_day = NARROWEST_PX / (last - first).days
            width = LETTER_PX * len(note["text"])
            at = note["x"] * NARROWEST_PX
            if note.get("xref") != "paper":
                at = (date.fromisoformat(note["x"]) - first).days * per_day
            at += note["xshift"] - (width if note["xanchor"] == "right" else 0)
            assert not at < (today - first).days * per_day < at + width, note


def test_the_name_of_a_level_moves_along_to_where_no_curve_lies():
    plot = LabelPlot((0.0, 10.0), (0.0, 10.0))
    # Across the level from above at its left end, and away from it below.
    plot.draw([(0.0, 6.0), (4.0, 4.0), (10.0, 0.0)])
    plot.draw([(0.0, 5.0), (10.0, 5.0)])
    spot = plot.best("a level", on_level(5.0, (0.0, 10.0)))
    assert spot.y == 5.0
    assert 1.0 < spot.x < 4.0
    assert spot.yanchor == "bottom"


def test_a_name_longer_than_the_plot_stands_where_least_of_it_is_outside():
    plot, name = LabelPlot((0.0, 10.0), (0.0, 10.0)), "n" * 35
    plot.draw([(0.0, 5.5), (10.0, 5.5)])
    spot = plot.best(name, on_level(5.0, (0.0, 10.0)))
    left = spot.x * NARROWEST_PX / 10 + spot.xshift
    left -= LETTER_PX * len(name) if spot.xanchor == "right" else 0
    assert -3 < left < 3


def test_a_name_crosses_a_thin_line_only_where_it_has_no_other_place():
    plot = LabelPlot((0.0, 10.0), (0.0, 10.0))
    plot.draw_thin(1.0)
    crossing, beside = (LabelPosition(x, 5.0, "left", "bottom") for x in (0.5, 2.0))
    assert plot.clear("a name", [crossing, beside]) == beside
    assert plot.best("another", [crossing, replace(beside, y=2.0)]).x == 2.0
    assert plot.clear("a third", [replace(crossing, y=8.0)]) is not None


def test_the_name_of_a_level_stands_on_no_bar_that_covers_it():
    first, last = date(2026, 1, 1), date(2036, 1, 1)
    plot = LabelPlot((first.toordinal(), last.toordinal()), (60.0, 105.0))
    plot.draw_level((first.toordinal() + 90, last.toordinal()), 80.0, 6)
    named = level_labels(80.0, 100.0, (first, last), plot)
    assert {note["text"]: abs(note["yshift"]) for note in named} == {
        "rated 100 Ah": 0,
        "limit 80 Ah": 5,
    }
