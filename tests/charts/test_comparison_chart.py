import json
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from app.analysis.comparison.comparison_axis import age_axis
from app.analysis.comparison.comparison_report import Compared, compare_batteries
from app.analysis.comparison.overlaid_curves import LaidCurve
from app.charts import theme
from app.charts.comparison_chart import overlaid_curves_figure, trends_figure
from app.services.reports.comparison import MAX_COMPARED
from tests.builders import NOW, reported
from tests.charts.judge import judged

PAGE = "#fbf8f1"
# Machado, Oliveira and Fernandes (2009), IEEE Transactions on Visualization and Computer Graphics
# 15(6), 1291-1298: full deuteranopia, protanopia and tritanopia in linear RGB (from memory).
DEFICIENCIES = (
    np.eye(3),
    np.array([[0.367, 0.861, -0.228], [0.280, 0.673, 0.047], [-0.012, 0.043, 0.969]]),
    np.array([[0.152, 1.053, -0.205], [0.115, 0.786, 0.099], [-0.004, -0.048, 1.052]]),
    np.array([[1.256, -0.077, -0.179], [-0.078, 0.931, 0.148], [0.005, 0.691, 0.304]]),
)
# IEC 61966-2-1: linear sRGB to CIE XYZ.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colour):
    parts = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def lab(rgb):
    """CIE 1976 L*a*b* under D65."""
    x = TO_XYZ @ np.clip(rgb, 0, 1) / np.array([0.9505, 1.0, 1.089])
    f = np.where(x > 0.008856, np.cbrt(x), 7.787 * x + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


@pytest.fixture(scope="module")
def report():
    hot = reported([11.5 - 0.25 * i for i in range(6)], name="Hot <b>one</b>", early=(2,))
    cool = reported([11.5 - 0.05 * i for i in range(6)], number=2, name="Cool")
    return compare_batteries([Compared(hot, 91), Compared(cool, 91)], 1.0, [age_axis([hot, cool])])


@pytest.fixture(scope="module")
def trends(report):
    return trends_figure(report.sides, report.axes[0])


def test_both_figures_are_ones_that_the_chart_library_accepts(trends):
    curve = LaidCurve("Cool", NOW.date(), (0.0, 50.0, 99.0), (3.4, 3.2, 2.9), 0.1, 24.0, True)
    for made in (trends, overlaid_curves_figure([curve])):
        judged(made)
        json.dumps(made, allow_nan=False)


def test_every_battery_has_points_with_bars_a_line_and_its_name(trends):
    measured = [t for t in trends["data"] if "error_y" in t]
    assert [len(t["x"]) for t in measured] == [5, 6]
    assert all(min(t["error_y"]["array"]) > 0 for t in measured)
    lines = [t for t in trends["data"] if t["mode"] == "lines"]
    assert len(lines) == 2
    assert {"Cool"} <= {a["text"] for a in trends["layout"]["annotations"]}


def test_a_lower_bound_has_an_arrow_and_no_bar(trends):
    bound = next(t for t in trends["data"] if "at least" in t["name"])
    assert "error_y" not in bound
    assert len([a for a in trends["layout"]["annotations"] if a["showarrow"]]) == 1


def test_a_name_is_shown_as_typed_and_never_as_markup(trends):
    assert any(t["name"] == "Hot &lt;b&gt;one&lt;/b&gt;" for t in trends["data"])


def test_axes_name_their_units(trends):
    assert trends["layout"]["xaxis"]["title"]["text"] == "age (years)"
    assert trends["layout"]["yaxis"]["title"]["text"] == "capacity (% of rated)"


def test_what_has_no_place_on_an_axis_is_not_drawn(report):
    axis = replace(report.axes[0], x=((None,) * 6, report.axes[0].x[1]))
    names = {t["name"] for t in trends_figure(report.sides, axis)["data"]}
    assert names == {"Cool", "Cool, line of its rate"}


def test_as_many_as_can_be_compared_differ_in_colour_symbol_and_dash():
    assert len(theme.SERIES) == MAX_COMPARED
    for part in zip(*theme.SERIES, strict=True):
        assert len(set(part)) == MAX_COMPARED


def test_the_colours_stay_apart_for_colour_blind_eyes():
    for matrix in DEFICIENCIES:
        seen = [lab(matrix @ linear(colour)) for colour, _, _ in theme.SERIES]
        assert min(np.linalg.norm(a - b) for a, b in combinations(seen, 2)) > 20


def test_every_colour_stands_out_from_the_page():
    # WCAG 2.2, 1.4.11: a contrast of at least 3 for what is needed to read a picture.
    def luminance(colour):
        return (TO_XYZ @ linear(colour))[1]

    for colour, _, _ in theme.SERIES:
        assert (luminance(PAGE) + 0.05) / (luminance(colour) + 0.05) >= 3
