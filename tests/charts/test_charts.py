import json

import pytest

from app.analysis.nights.nights_report import RoadWish
from app.charts import theme
from app.charts.chart import Chart
from app.charts.curves_chart import curves_figure
from app.charts.data_table import numbers_of
from app.charts.discharge_chart import discharge_figure
from app.charts.fade_chart import fade_figure
from app.charts.localized_figure import read_figure
from app.charts.nights_chart import nights_figure
from app.domain.entities.meter import MeterKind
from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import DecimalShown, Language, Preferences
from app.domain.readings import Readings
from app.services.entities import batteries, discharges
from app.services.reports import nights_report
from tests.builders import NOW, battery_details, discharge_details
from tests.charts.judge import judged
from tests.fast_demo import copy_demo_data
from tests.german import Words


@pytest.fixture
def reports(store):
    copy_demo_data(store)
    return batteries.list_batteries(store, NOW.date()).shown


FAN = ("90 % of such batteries stay inside", "50 % of such batteries stay inside")


def figure(report):
    events = [(event.on_date, event.kind.label) for event in report.events]
    return fade_figure(report.tests, report.fade, report.end_of_life, report.rated_ah, events)


def names(made):
    return [trace["name"] for trace in made["data"]]


def test_the_chart_library_s_package_builds_every_figure_and_changes_nothing(reports, store):
    for report in reports:
        judged(figure(report))
        # Of a test of which only the result was noted there is no course.
        for test in (one for one in report.tests if not one.only_result):
            made = shown(discharge_figure(discharges.show_discharge(store, test.id).report))
            # As a browser gets them: colours that the script knows, its own look and no other.
            drawn = json.loads(json.dumps(made.drawn, allow_nan=False))
            assert json.loads(json.dumps(judged(drawn))) == drawn


@pytest.mark.parametrize(
    "part", [{"data": [{"type": "scatter", "dashed": True}]}, {"layout": {"height": "tall"}}]
)
def test_a_figure_that_the_library_does_not_know_is_refused_aloud(part):
    right = {"data": [{"type": "scatter", "y": [1.0]}], "layout": theme.layout(300)}
    assert judged(right)["data"]
    with pytest.raises(ValueError, match=r"dashed|height"):
        judged(right | part)


def shown(made):
    return Chart("one", "One", "One.", lambda _: made)


def test_measured_tests_carry_error_bars_and_bounds_carry_arrows(reports):
    made = figure(reports[0])
    measured = next(t for t in made["data"] if t["name"].startswith("measured"))
    assert len(measured["error_y"]["array"]) == len(measured["y"]) == 17
    arrows = [a for a in made["layout"]["annotations"] if a.get("showarrow")]
    assert len(arrows) == 1


def test_trend_threshold_and_projected_end_are_drawn(reports):
    made = figure(reports[0])
    assert {"fade so far", *FAN} <= set(names(made))
    assert any(name.startswith("limit: ") for name in names(made))
    labels = [a["text"] for a in made["layout"]["annotations"]]
    assert "limit 184 Ah" in labels
    assert "moved" in labels


def test_left_out_tests_are_drawn_hollow(store, reports):
    discharges.leave_out(store, 3, "the load dropped out", NOW)
    report = batteries.list_batteries(store, NOW.date()).shown[0]
    assert "left out by the owner" in names(figure(report))
    assert report.fade.left_out == 1


def test_the_fan_never_shrinks_the_tests_to_a_line(reports):
    low, high = figure(reports[0])["layout"]["yaxis"]["range"]
    assert low > 0.55 * 230
    assert high < 1.2 * 240


def test_a_battery_with_bounds_only_has_no_trend(reports):
    lamps = next(report for report in reports if "lamp" in report.name)
    assert names(figure(lamps)) == ["at least: the true value lies above"]


def test_axes_name_their_units(reports, store):
    made = figure(reports[0])
    assert "(Ah)" in made["layout"]["yaxis"]["title"]["text"]
    course = discharge_figure(discharges.show_discharge(store, 1).report)
    titles = [course["layout"][f"yaxis{n}"]["title"]["text"] for n in ("", "2", "3")]
    assert titles == ["charge left (Ah)", "voltage (V)", "battery (°C)"]


def test_the_reserve_beside_what_the_label_leaves_is_the_label_s(store, reports):
    """The reserve is a share of what a battery holds; this chart draws the label, and says so."""
    test = next(t for t in reports[0].tests if not t.only_result)
    report = discharges.show_discharge(store, test.id).report
    drawn = [name for name in names(discharge_figure(report)) if "reserve" in name]
    assert drawn == [f"reserve by the label: {report.rated_ah * report.reserve_share:g} Ah"]


def test_curves_are_laid_over_one_another_and_compared_with_the_first(store, reports):
    curves = batteries.show_curves(store, reports[0].id)
    made = curves_figure(curves)
    judged(made)
    assert len(curves.curves) == 18
    assert len(made["data"]) == 3 * 18
    first, last = curves.curves[0], curves.curves[-1]
    assert set(first.difference_v) == {None}
    assert any(value is not None for value in last.difference_v)
    assert last.charge_ah[-1] < first.charge_ah[-1]
    assert last.delivered_wh == pytest.approx(last.mean_voltage_v * last.delivered_ah)


def test_the_newest_curve_is_the_darkest(store, reports):
    colours = [t["line"]["color"] for t in curves_figure(batteries.show_curves(store, 1))["data"]]
    assert colours[0] == theme.by_age(0)
    assert colours[-1] == theme.by_age(1)


def test_a_test_without_voltages_has_no_curve(store):
    battery = batteries.add_battery(store, battery_details())
    readings = Readings.of([3600.0 * i for i in range(5)], [9.0] * 5)
    details = discharge_details(readings)
    discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    curves = batteries.show_curves(store, battery.id)
    assert (curves.curves, curves.without_voltage) == ((), 1)


def test_the_nights_are_drawn_as_a_band_with_the_wish_across(store, reports):
    view = nights_report.show_road(store, reports[0].id, RoadWish(nights=2), None, NOW.date())
    made = nights_figure(view.report.course, view.report.wanted_nights)
    judged(made)
    json.dumps(made, allow_nan=False)
    assert names(made) == [FAN[0], "half of such batteries do more", "2 nights"]
    band = made["data"][0]["y"]
    count = len(view.report.course)
    assert all(high >= low for high, low in zip(band[:count], band[: count - 1 : -1], strict=True))


def test_without_a_course_no_nights_are_drawn():
    assert nights_figure((), 3) is None


def test_a_figure_and_its_table_speak_the_language_of_their_reader(reports):
    known = {"capacity (Ah)": "Kapazität (Ah)", "fade so far": "Schwund", "from": "von"}
    reader = Reader(Preferences(language=Language.GERMAN), Words(known | {"Mar": "Mär"}))
    made = read_figure(figure(reports[0]), reader)
    header = numbers_of(made, reader).header
    assert made["layout"]["yaxis"]["title"]["text"] == "Kapazität (Ah)"
    assert "Schwund" in names(made)
    assert made["layout"]["meta"]["months"][1][2] == "Mär"
    assert ("Kapazität (Ah)" in header, "von" in header) == (True, True)


def test_the_script_is_told_the_decimal_sign_of_the_reader(reports):
    made = figure(reports[0])
    assert made["layout"]["separators"] == ".,"
    comma = Reader(Preferences(decimals=DecimalShown.COMMA))
    assert read_figure(made, comma)["layout"]["separators"] == ",\u202f"
