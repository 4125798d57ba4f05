"""Whether what a chart tells apart stays apart for colour-blind eyes, and without any colour."""

import re
from itertools import combinations, pairwise

import numpy as np
import pytest

from app.analysis.nights.nights_report import RoadWish
from app.charts import theme
from app.charts.battery_chart import battery_figure
from app.charts.curves_chart import curves_figure
from app.charts.discharge_chart import discharge_figure
from app.charts.heat_chart import temperature_calendar_figure
from app.charts.nights_chart import nights_figure
from app.services.entities import batteries, discharges
from app.services.reports import heat, nights_report
from tests.builders import NOW
from tests.charts.test_comparison_chart import DEFICIENCIES, PAGE, lab, linear
from tests.fast_demo import copy_demo_data

# CIE 1976: a difference of 2.3 is just noticed; these are told apart at a glance (common practice).
APART = 20.0


@pytest.fixture
def charts(store):
    copy_demo_data(store)
    reports = batteries.list_batteries(store, NOW.date()).shown
    view = nights_report.show_road(store, reports[0].id, RoadWish(nights=2), None, NOW.date())
    test = discharges.show_discharge(store, reports[0].tests[0].id).report
    made = [battery_figure(report) for report in reports]
    return [*made, discharge_figure(test), nights_figure(view.report.course, 2.0)]


def hexes(value):
    """Every plain colour within a figure or a part of it."""
    return set(re.findall(r"#[0-9a-f]{6}", str(value)))


def form_of(trace):
    """What a trace looks like without its colour."""
    line, marker = trace.get("line", {}), trace.get("marker", {})
    return (
        trace.get("fill", ""),
        "lines" in trace["mode"] and (line.get("dash", "solid"), line.get("width")),
        "markers" in trace["mode"] and marker.get("symbol", "dot of a line"),
        "error_y" in trace,
        # Of two bands one lies within the other.
        trace.get("fillcolor", ""),
    )


def test_no_two_traces_of_a_panel_differ_by_colour_alone(charts):
    for figure in charts:
        panels = {}
        for trace in figure["data"]:
            panels.setdefault(trace.get("yaxis", "y"), []).append(form_of(trace))
        for forms in panels.values():
            assert len(set(forms)) == len(forms)


def test_markers_of_lines_have_lines_that_grow_with_the_look(charts):
    markers = [trace["marker"] for one in charts for trace in one["data"] if "marker" in trace]
    drawn_open = [one for one in markers if one.get("symbol", "").endswith("-open")]
    assert len(drawn_open) >= 4
    assert min(one["line"]["width"] for one in drawn_open) > 1


def test_the_colours_of_what_is_judged_stay_apart_for_colour_blind_eyes():
    # They differ in form as well, so half of that is enough.
    colours = (theme.MEASURED, theme.BOUND, theme.THRESHOLD)
    for matrix in DEFICIENCIES:
        seen = [lab(matrix @ linear(colour)) for colour in colours]
        assert min(np.linalg.norm(a - b) for a, b in combinations(seen, 2)) > APART / 2


def test_older_and_newer_curves_are_told_by_lightness(store):
    copy_demo_data(store)
    lines = [t["line"] for t in curves_figure(batteries.show_curves(store, 1))["data"][::3]]
    parts = [[int(v) / 255 for v in re.findall(r"\d+", line["color"])] for line in lines]
    for matrix in DEFICIENCIES:
        lightness = [lab(matrix @ np.array(one))[0] for one in parts]
        assert all(a > b for a, b in pairwise(lightness))
    widths = [line["width"] for line in lines]
    assert widths == sorted(widths)


def test_every_month_carries_its_number(store):
    copy_demo_data(store)
    report = heat.show_heat(store, 1, NOW.date()).report
    cells = temperature_calendar_figure(report.months)["data"][0]
    for values, texts in zip(cells["z"], cells["text"], strict=True):
        assert [value is not None for value in values] == [bool(text) for text in texts]


def test_every_mark_of_a_chart_stands_out_from_the_page(charts):
    # WCAG 2.2, 1.4.11; behind the marks the grid may be fainter.
    def luminance(colour):
        return 0.2126 * (c := linear(colour))[0] + 0.7152 * c[1] + 0.0722 * c[2]

    for figure in charts:
        for colour in hexes(figure["data"]) | hexes(figure["layout"].get("shapes", ())):
            assert (luminance(PAGE) + 0.05) / (luminance(colour) + 0.05) >= 3, colour
