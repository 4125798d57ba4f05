"""The small pictures of the list."""

import re
from dataclasses import replace
from xml.etree import ElementTree

from app.analysis.reports.shared_report import shared_report
from app.charts import theme
from app.charts.battery_chart import battery_figure
from app.charts.small.sparkline import HEIGHT, small_trend
from tests.builders import reported


def path_of(svg, color):
    paths = [p for p in ElementTree.fromstring(svg).iter("path") if p.get("stroke") == color]
    # Where it is going is dotted.
    return next(p for p in paths if p.get("stroke-dasharray", "") != "1.5 3.5").get("d")


def scale_of(report):
    low, high = battery_figure(report)["layout"]["yaxis"]["range"]
    return lambda y: low + (1 - y / HEIGHT) * (high - low)


def test_every_interval_stands_where_the_large_chart_has_it():
    report = reported([11.5 - 0.25 * i for i in range(6)])
    to_ah = scale_of(report)
    bars = re.findall(
        r"M[\d.]+ ([\d.]+)V([\d.]+)", path_of(small_trend(report).svg(), theme.MEASURED)
    )
    assert len(bars) == 6
    for (high, low), test in zip(bars, report.tests, strict=True):
        width = to_ah(float(high)) - to_ah(float(low))
        assert abs(width - 2 * test.expanded_ah) < 0.1
        assert abs((to_ah(float(high)) + to_ah(float(low))) / 2 - test.capacity_ah) < 0.1


def test_it_shows_where_the_battery_is_going_as_far_as_the_large_chart():
    report = reported([11.5 - 0.25 * i for i in range(6)])
    svg = small_trend(report).svg()
    # Two bands, and their middle dotted.
    assert svg.count("fill-opacity") == 2
    middle = next(t for t in battery_figure(report)["data"] if t["name"].startswith("middle"))
    (dotted,) = [
        p.get("d")
        for p in ElementTree.fromstring(svg).iter("path")
        if p.get("stroke") == theme.MEASURED and p.get("stroke-dasharray")
    ]
    to_ah = scale_of(report)
    assert abs(to_ah(float(re.split("[ L]", dotted)[1])) - middle["y"][0]) < 0.1


def test_the_threshold_is_drawn_dashed():
    report = reported([11.5 - 0.25 * i for i in range(6)])
    height = float(path_of(small_trend(report).svg(), theme.THRESHOLD).split()[1].split("H")[0])
    assert abs(scale_of(report)(height) - report.end_of_life.threshold_ah) < 0.1


def test_a_lower_bound_is_an_arrow_and_no_bar():
    report = reported([11.5, 11.2, 11.0], early=(0, 1, 2))
    svg = small_trend(report).svg()
    assert path_of(svg, theme.BOUND).count("h8") == 3
    assert theme.MEASURED not in svg


def test_it_says_in_one_sentence_what_it_shows():
    report = reported([11.5 - 0.25 * i for i in range(6)])
    title = ElementTree.fromstring(small_trend(report).svg()).find("title").text
    assert title.startswith("6 measured tests from ")
    assert f"{report.tests[-1].capacity_ah:.1f} Ah" in title
    assert title.count(".") - len(re.findall(r"\d\.\d", title)) == 1


def test_a_hundred_tests_stay_a_small_picture():
    report = reported([11.5 - 0.01 * i for i in range(100)])
    assert len(small_trend(report).svg()) < 6_000


def test_without_a_test_there_is_none():
    assert small_trend(reported([])) is None


def test_link_page_and_report_share_one_scale_even_without_the_threshold():
    report = reported([11.5 - 0.25 * i for i in range(6)])
    hidden = replace(shared_report(report), end_of_life=None)
    assert (
        battery_figure(hidden)["layout"]["yaxis"]["range"]
        == battery_figure(report)["layout"]["yaxis"]["range"]
    )
