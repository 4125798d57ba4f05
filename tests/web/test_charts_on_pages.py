"""Every chart of every page: its sentence, its numbers, its picture and its data."""

import csv
import io
import itertools
import json
from dataclasses import replace
from pathlib import Path
from urllib.parse import parse_qs, urljoin, urlsplit
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient

from app.domain.entities.meter import MeterKind
from app.domain.readings import column
from app.services.access import shares
from app.services.entities import batteries, discharges
from tests.builders import NOW, discharge_details, steady
from tests.charts.judge import judged
from tests.fast_demo import copy_demo_data
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database

PAGES = (
    "/batteries/1",
    "/batteries/3",
    "/batteries/1/curves",
    "/batteries/1/heat",
    "/batteries/1/road?nights=2",
    "/discharges/1",
    "/comparison?battery=1&battery=2",
    "/batteries/1/share",
)
ROOT = Path(__file__).parents[2]
# The names of what the demo draws; a run has its own test.
KINDS = {
    *("fade", "fade-1", "course", "curves", "hours", "calendar", "nights"),
    *("trend-1", "trend-2", "trend-3", "laid-curves"),
}
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def demo(store):
    copy_demo_data(store)
    return batteries.list_batteries(store, NOW.date()).shown


def link_of(figure, words):
    return next(a["href"] for a in figure.select("a") if a.text.startswith(words))


def table_of(response):
    rows = list(csv.reader(io.StringIO(response.text.removeprefix("\ufeff"))))
    return [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]


@pytest.mark.parametrize("path", PAGES)
def test_every_chart_has_a_sentence_its_numbers_a_picture_and_data(client, demo, path):
    page = soup(client.get(path))
    figures = page.select("figure.chart")
    assert figures
    assert page.select("script[data-library]"), "its template calls chart_scripts()"
    for figure in figures:
        plot = figure.select_one(".plot")
        assert (plot["role"], plot["tabindex"]) == ("img", "0")
        assert plot["aria-label"].endswith(".")
        assert any(letter.isdigit() for letter in plot["aria-label"])
        place = figure.select_one("a[href^='#']")
        assert figure.select("details.numbers tbody td") or page.find(id=place["href"][1:])
        picture = client.get(urljoin(path, link_of(figure, "Picture")))
        assert picture.headers["content-type"].startswith("image/svg+xml")
        assert picture.headers["content-disposition"].startswith("attachment")
        assert ElementTree.fromstring(picture.text).tag == f"{SVG}svg"
        assert table_of(client.get(urljoin(path, link_of(figure, "Data"))))


def test_every_figure_of_every_page_is_one_that_its_library_builds(client, store, demo):
    share = shares.share_battery(store, 1, "", None, NOW)
    waiting, seen, figures = ["/", f"/shared/{share.token}", *PAGES], set(), []
    while waiting:
        path = waiting.pop()
        seen.add(path)
        page = soup(client.get(path))
        asked = [urljoin(path, one["data-chart"]) for one in page.select("[data-chart]")]
        answers = [client.get(address) for address in asked]
        figures += [address for address, one in zip(asked, answers, strict=True) if one.json()]
        assert [one.status_code for one in answers] == [200] * len(asked)
        for one in answers:
            # What the library does not know raises here.
            assert not one.json() or json.loads(json.dumps(judged(one.json()))) == one.json()
        # The road and the comparison ask for much by their addresses; PAGES has some of each.
        links = {urlsplit(a["href"]).path for a in page.select("a[href^='/']")}
        # What has an ending is a file.
        waiting += {one for one in links if "." not in one} - seen - set(waiting)
    kinds = {name_of(address) for address in figures}
    assert kinds == KINDS, "KINDS names every chart, PAGES every page that has one"
    # Of a test of which only the result was noted there is nothing to draw.
    tests = sum(not test.only_result for report in demo for test in report.tests)
    assert len([one for one in figures if "chart=course.json" in one]) >= tests


def name_of(address):
    (asked,) = parse_qs(urlsplit(address).query)["chart"]
    return asked.removesuffix(".json")


@pytest.mark.parametrize("path", PAGES)
def test_a_page_shows_its_charts_without_scripts_and_stays_light(client, demo, path):
    response = client.get(path)
    assert len(response.text) < 200_000
    for figure in soup(response).select("figure.chart"):
        pictures = figure.select(".plot > div > svg")
        asked = figure.select_one(".plot")["data-chart"]
        height = client.get(urljoin(path, asked)).json()["layout"]["height"]
        # One for every width, as high as the chart that takes its place: nothing moves.
        assert [int(one["height"]) for one in pictures] == [height]


def test_the_data_of_the_trend_are_the_tests_of_the_page(client, demo):
    rows = table_of(client.get("/batteries/1?chart=fade.csv"))
    measured = [row for row in rows if row["what"].startswith("measured")]
    tests = [test for test in demo[0].tests if test.kind.value == "measured"]
    for row, test in zip(measured, tests, strict=True):
        assert float(row["capacity (Ah)"]) == pytest.approx(test.capacity_ah, abs=0.001)
        assert float(row["from"]) == pytest.approx(test.capacity_ah - test.expanded_ah, abs=0.002)
        assert float(row["to"]) == pytest.approx(test.capacity_ah + test.expanded_ah, abs=0.002)
        assert row["date of the test"].startswith(str(test.started_at.date()))
    named = {row["what"]: row["capacity (Ah)"] for row in rows}
    assert (float(named["rated 230 Ah"]), float(named["limit 184 Ah"])) == (230, 184)
    assert any(row["what"] == "moved" for row in rows)


def test_the_data_of_a_course_are_its_readings(client, demo):
    rows = table_of(client.get("/discharges/1?chart=course.csv"))
    volts = [row for row in rows if row["what"] == "voltage"]
    readings = table_of(client.get("/discharges/1/readings.csv"))
    assert [float(row["voltage (V)"]) for row in volts] == pytest.approx(
        [float(row["voltage_v"]) for row in readings]
    )


def counted_from(rows):
    """Amp-hours as anybody would count them: trapezoids, then the last current until the end."""
    hours = [float(row["elapsed_s"]) / 3600 for row in rows]
    if rows[0].get("counted_ah"):
        count = float(rows[-1]["counted_ah"]) - float(rows[0]["counted_ah"])
    else:
        amps = [float(row["current_a"]) for row in rows]
        pairs = zip(itertools.pairwise(hours), itertools.pairwise(amps), strict=True)
        count = sum((b - a) * (i + j) / 2 for (a, b), (i, j) in pairs)
    return count + float(rows[-1]["current_a"]) * (float(rows[0]["ended_after_h"]) - hours[-1])


@pytest.mark.parametrize("counted", [False, True])
def test_the_readings_of_a_test_give_its_amp_hours_to_whoever_counts_them_again(
    client, store, battery, counted
):
    """The end lies 42 minutes after the last reading: without it 6.3 Ah would be missing."""
    readings = steady(hours=10, step_h=1.0, last_v=12.3)
    if counted:
        readings = replace(readings, counted_ah=column([9.1 * i for i in range(11)]))
    details = discharge_details(readings, ended_after_h=10.7)
    test = discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    report = discharges.show_discharge(store, test.id).report
    again = table_of(client.get(f"/discharges/{test.id}/readings.csv"))
    assert counted_from(again) == pytest.approx(report.delivered_ah, rel=1e-9)
    as_json = client.get(f"/discharges/{test.id}/readings.json").json()
    assert {row["ended_after_h"] for row in as_json} == {10.7}
    assert ("counted_ah" in as_json[0]) is counted


def test_a_name_that_looks_like_a_formula_stays_text(client, store, demo):
    details = batteries.get_battery(store, 2).details
    batteries.change_battery(store, 2, replace(details, name="=SUM(A1)"), NOW)
    text = client.get("/comparison?battery=1&battery=2&chart=trend-1.csv").text
    assert "'=SUM(A1)" in text
    assert "\n=SUM" not in text


def test_the_picture_follows_what_was_asked_of_the_page(client, demo):
    two = client.get("/batteries/1/road?nights=2&chart=nights.svg").text
    four = client.get("/batteries/1/road?nights=4&chart=nights.svg").text
    assert "asked for: 2" in two
    assert "asked for: 4" in four


@pytest.mark.parametrize("asked", ["fade.png", "nothing.svg", "x.json", "fade", ".svg", "<b>.csv"])
def test_a_chart_that_is_not_there_is_not_found(client, demo, asked):
    response = client.get("/batteries/1", params={"chart": asked})
    assert response.status_code == 404
    assert "<b>" not in response.text


def test_a_strangers_link_gives_its_charts_and_no_other_and_counts_no_view(app, store, demo):
    share = shares.share_battery(store, 1, "", None, NOW)
    stranger = TestClient(app, client=("192.168.1.20", 5000))
    page = f"/shared/{share.token}"
    assert stranger.get(f"{page}?chart=fade-1.svg").status_code == 200
    assert stranger.get(f"{page}?chart=fade-1.csv").status_code == 200
    assert stranger.get(f"{page}?chart=fade-1.json").json()["data"]
    for kind in ("csv", "json"):
        assert stranger.get(f"/batteries/1?chart=fade.{kind}").status_code == 403
    assert shares.get_share(store, share.id).views == 0


def test_a_page_that_answers_a_form_offers_no_files(client, demo):
    page = soup(client.post("/batteries/1/events", data={"on_date": "never"}))
    figure = page.select_one("figure.chart")
    assert figure.select_one("details.numbers")
    assert not [a for a in figure.select("a") if a.text.startswith("Data")]
    assert figure_on_the_page(figure) == client.get("/batteries/1?chart=fade.json").json()


def test_a_page_that_refuses_what_its_address_says_carries_its_figures(client, demo):
    refused = client.get("/batteries/1/road?nights=never")
    assert refused.status_code == 422
    figure = soup(refused).select_one("figure.chart")
    assert figure_on_the_page(figure)["data"]
    assert not [a for a in figure.select("a") if a.text.startswith("Data")]


def figure_on_the_page(figure):
    place = figure.select_one(".plot")["data-chart"]
    assert place.startswith("#")
    return json.loads(figure.select_one(place).text)


def test_the_list_has_a_small_trend_of_every_tested_battery(client, store, demo):
    page = soup(client.get("/batteries"))
    trends = page.select(".card .small-trend svg")
    assert len(trends) == len([report for report in demo if report.tests])
    for svg in trends:
        assert svg["role"] == "img"
        assert svg["width"]
        assert svg["height"]
        assert svg.title.text.endswith(".")
