"""The SVG charts against the figures of the pages, read back from the picture."""

import re
from dataclasses import replace
from datetime import date
from xml.etree import ElementTree

import pytest

from app.analysis.reports.shared_report import shared_report
from app.charts import theme
from app.charts.battery_chart import battery_figure, fade_svg
from app.charts.discharge_chart import discharge_figure, discharge_svg
from app.domain.entities.discharge import EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.services.entities import batteries, discharges, events
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.fast_demo import copy_demo_data

# Units across a picture on paper; without a width it suits every width.
PAPER = 680.0
BOTH = pytest.mark.parametrize("width", [None, PAPER])


@pytest.fixture
def reports(store):
    copy_demo_data(store)
    return batteries.list_batteries(store, NOW.date()).shown


def drawn(svg):
    return ElementTree.fromstring(svg)


def texts(root):
    return [element.text for element in root.iter("text")]


def placed_texts(root, size=None, anchor="start"):
    """Every text outside the panels, with the size and the anchor that hold for it."""
    size, anchor = root.get("font-size", size), root.get("text-anchor", anchor)
    for element in root:
        if element.tag == "text":
            yield element, float(size), element.get("text-anchor", anchor)
        elif element.tag == "g":
            yield from placed_texts(element, size, anchor)


def battery_with(store, count):
    battery = batteries.add_battery(store, battery_details())
    for number in range(count):
        hours = 12 - 2 * number / max(count, 1)
        details = discharge_details(
            steady(hours=hours, step_h=0.5),
            days_ago=10 + 91 * (count - number),
            end_reason=EndReason.PROTECTION,
        )
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    return battery


def report_of(store, battery):
    return batteries.show_battery(store, battery.id, NOW.date()).report


def panel_of(root, number=0):
    return [element for element in root.iter("svg") if element is not root][number]


def scale_of(root, unit_texts):
    """From a height in the picture to a value, by two labels of the y-axis."""
    marks = {}
    for element, _, anchor in placed_texts(root):
        if anchor == "end" and element.text in unit_texts:
            marks[float(element.text)] = float(element.get("y")) - 4.5
    (low, at_low), (high, at_high) = min(marks.items()), max(marks.items())
    return lambda y: low + (y - at_low) / (at_high - at_low) * (high - low)


@BOTH
def test_every_test_stands_at_the_height_of_the_page_s_figure(reports, width):
    report = reports[0]
    root = drawn(fade_svg(report, width))
    panel = panel_of(root)
    to_ah = scale_of(root, {"170", "240"})
    alike = [g for g in panel.iter("g") if g.get("fill") == theme.MEASURED]
    circles = [c for g in alike for c in g.iter("circle")]
    figure = battery_figure(report)
    measured = next(t for t in figure["data"] if t["name"].startswith("measured"))
    assert len(circles) == len(measured["y"]) == 17
    top = float(panel.get("y"))
    for circle, value in zip(circles, measured["y"], strict=True):
        assert to_ah(top + float(circle.get("cy"))) == pytest.approx(value, abs=0.05)


@BOTH
def test_error_bars_reach_as_far_as_the_interval_says(reports, width):
    report = reports[0]
    root = drawn(fade_svg(report, width))
    panel = panel_of(root)
    to_ah = scale_of(root, {"170", "240"})
    top = float(panel.get("y"))
    bars = next(p.get("d") for p in panel.iter("path") if p.get("d").count("V") == 17)
    ends = [(float(a), float(b)) for a, b in re.findall(r"M[\d.]+ ([\d.]+)V([\d.]+)", bars)]
    measured = [test for test in report.tests if test.kind.value == "measured"]
    for (high, low), test in zip(ends, measured, strict=True):
        width = to_ah(top + high) - to_ah(top + low)
        assert width == pytest.approx(2 * test.expanded_ah, abs=0.15)


def test_a_lower_bound_is_a_dash_at_the_bound_with_a_hollow_arrow_upwards(reports):
    report = reports[0]
    root = drawn(fade_svg(report, PAPER))
    panel = panel_of(root)
    bound = next(test for test in report.tests if test.kind.value == "at_least")
    dash = next(p for p in panel.iter("path") if re.fullmatch(r"M[\d.]+ [\d.]+h15", p.get("d")))
    to_ah, top = scale_of(root, {"170", "240"}), float(panel.get("y"))
    at = float(dash.get("d").split()[1].split("h")[0])
    assert to_ah(top + at) == pytest.approx(bound.lower_ah, abs=0.05)
    arrow = next(p for p in panel.iter("path") if p.get("d").endswith("Z") and "V" in p.get("d"))
    assert arrow.get("fill") == "none"
    assert float(re.search(r"V([\d.]+)", arrow.get("d")).group(1)) < at


def test_levels_and_events_are_labelled_where_they_stand(reports):
    written = texts(drawn(fade_svg(reports[0])))
    assert {"rated 230 Ah", "limit 184 Ah", "moved", "today"} <= set(written)
    assert {"capacity (Ah)", "2026"} <= set(written)


def test_every_trace_is_named_in_the_key_of_paper_and_files(reports, store):
    for report in reports:
        written = texts(drawn(fade_svg(report, PAPER)))
        for trace in battery_figure(report)["data"]:
            assert trace["name"] in written
        test = discharges.show_discharge(store, report.tests[-1].id).report
        written = texts(drawn(discharge_svg(test, PAPER)))
        for trace in discharge_figure(test)["data"]:
            assert trace["name"] in written or not trace.get("showlegend", True)


def test_the_course_has_a_panel_for_each_quantity_with_its_unit(store, reports):
    root = drawn(discharge_svg(discharges.show_discharge(store, 1).report, PAPER))
    written = texts(root)
    assert {"charge left (Ah)", "voltage (V)", "battery (°C)"} <= set(written)
    assert written.count("hours since the load came on") == 1
    assert len(list(root.iter("svg"))) == 1 + 3


def test_the_course_is_drawn_to_the_counted_end(store, reports):
    report = discharges.show_discharge(store, 1).report
    root = drawn(discharge_svg(report, PAPER))
    to_ah = scale_of(root, {"0", "200"})
    panel = panel_of(root)
    line = next(p for p in panel.iter("path") if p.get("stroke-width") == "3")
    last = float(line.get("d").rsplit(" ", 1)[1])
    assert to_ah(float(panel.get("y")) + last) == pytest.approx(
        report.rows[-1].remaining_ah, abs=1.0
    )


def test_a_picture_says_what_it_shows_to_those_who_do_not_see_it(reports):
    root = drawn(fade_svg(reports[0]))
    assert root.get("role") == "img"
    assert root[0].tag == "title"
    assert "in Ah" in root[0].text
    assert reports[0].newest_words in root[1].text
    assert reports[0].fade.words in root[1].text


def test_a_picture_holds_no_style_no_script_no_address_and_no_name_to_clash(reports, store):
    for svg in (fade_svg(reports[0]), discharge_svg(discharges.show_discharge(store, 1).report)):
        for element in drawn(svg).iter():
            assert element.tag in {"svg", "title", "desc", "g", "text", "path", "line"} | {
                "circle",
                "rect",
            }
            assert not {"style", "id", "class", "href"} & set(element.attrib)
        assert "://" not in svg


def test_a_picture_takes_the_width_it_is_given(reports):
    root = drawn(fade_svg(reports[0], PAPER))
    assert root.get("width") is None
    assert root.get("viewBox").split()[2] == f"{PAPER:.0f}"
    sizes = [float(e.get("font-size")) for e in root.iter() if e.get("font-size")]
    # 178 mm are left on a sheet: nothing is smaller than 2 mm, about 6 points.
    assert min(sizes) * 178 / PAPER > 2


def test_a_picture_for_every_width_is_stretched_without_its_letters(reports):
    root = drawn(fade_svg(reports[0]))
    assert (root.get("width"), root.get("viewBox")) == ("100%", None)
    for stretched in root.iter("svg"):
        if stretched.get("preserveAspectRatio") == "none":
            assert {one.tag for one in stretched} <= {"path"}
            # A line is not made thicker by it.
            lines = [one for one in stretched if one.get("stroke")]
            assert all(one.get("vector-effect") == "non-scaling-stroke" for one in lines)
    circles = list(root.iter("circle"))
    assert circles
    assert all(one.get("cx").endswith("%") for one in circles)


def test_no_text_runs_out_of_the_picture(reports):
    for report in reports:
        root = drawn(fade_svg(report, PAPER))
        width, height = (float(v) for v in root.get("viewBox").split()[2:])
        for element, size, anchor in placed_texts(root):
            wide = 0.5 * size * len(element.text)
            share = {"end": 1.0, "middle": 0.5, "start": 0.0}[anchor]
            left = float(element.get("x")) - share * wide
            assert left >= -1
            assert left + wide <= width + 1, element.text
            assert 0 < float(element.get("y")) < height


@pytest.mark.parametrize("count", [1, 2, 40])
def test_few_and_many_tests_are_all_drawn(store, count):
    report = report_of(store, battery_with(store, count))
    panel = panel_of(drawn(fade_svg(report)))
    assert len(list(panel.iter("circle"))) == count


def test_without_tests_there_is_no_picture(store):
    assert fade_svg(report_of(store, battery_with(store, 0))) == ""


def test_a_strangers_report_is_drawn_alike_and_without_what_is_not_shown(store, reports):
    events.add_event(store, 1, date(2026, 1, 5), EventKind.DEEP_DISCHARGE, "")
    report = batteries.list_batteries(store, NOW.date()).shown[0]
    assert fade_svg(shared_report(report)) == fade_svg(report)
    assert "deep discharge" in texts(drawn(fade_svg(report)))
    shown = replace(shared_report(report), end_of_life=None)
    assert not any("limit" in text for text in texts(drawn(fade_svg(shown))))


def test_a_name_cannot_become_an_element(store):
    battery = batteries.add_battery(store, battery_details(name="<script>&</title>"))
    details = discharge_details(end_reason=EndReason.PROTECTION)
    discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    svg = fade_svg(report_of(store, battery))
    assert "<script>" not in svg
    assert "<script>&</title>" in drawn(svg)[0].text


WHAT = [kind.label for kind in EventKind]


def test_what_happened_stands_in_lanes_above_the_plot_and_covers_nothing(store, reports):
    for month in (1, 2, 3):
        events.add_event(store, 1, date(2026, month, 5), EventKind.DEEP_DISCHARGE, "")
    report = batteries.list_batteries(store, NOW.date()).shown[0]
    for width in (None, PAPER):
        root = drawn(fade_svg(report, width))
        top = float(panel_of(root).get("y"))
        labels = [e for e, _, _ in placed_texts(root) if e.text == "deep discharge"]
        lanes = [float(label.get("y")) for label in labels]
        assert len(set(lanes)) == 3
        assert max(lanes) < top
        title = next(e for e, _, _ in placed_texts(root) if e.text == "capacity (Ah)")
        assert float(title.get("y")) < min(lanes) - 10
        stems = [line for line in root.findall("line") if float(line.get("y1")) == top]
        named = {e.get("x") for e, _, _ in placed_texts(root) if e.text in WHAT}
        assert {line.get("x1") for line in stems} <= named
        assert len(stems) >= 2


def test_a_wide_screen_has_dates_between_those_of_a_telephone(reports):
    """The trailer box is drawn for fifteen years, of which a telephone has room for a few."""
    root = drawn(fade_svg(reports[2]))
    years = {
        wide: [int(one.text) for one in root.iter("text") if of_dates(one, wide)]
        for wide in (None, "wide")
    }
    assert 2 <= len(years[None]) <= 6
    together = sorted(years[None] + years["wide"])
    assert together == list(range(together[0], together[0] + len(together)))
    assert not [one for one in drawn(fade_svg(reports[2], PAPER)).iter() if one.get("class")]


def of_dates(text, wide):
    return text.get("class") == wide and re.fullmatch(r"20\d\d", text.text)
