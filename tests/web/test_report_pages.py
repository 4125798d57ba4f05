"""Reports for print: the page's own numbers, what the owner chose to show, and to nobody else."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from fastapi.testclient import TestClient

from app.domain.entities.event import EventKind
from app.domain.readings import column
from app.services.entities import batteries, discharges, events
from tests.builders import NOW, battery_details, steady
from tests.web.conftest import soup
from tests.web.printed import add, cells, report, words

pytestmark = pytest.mark.any_database

ALL = "?chosen=yes&serial=on&place=on&notes=on&readings=on"
NONE = "?chosen=yes"


def number_of(client, path):
    fact = next(d for d in report(client, path).select("dl.head div") if "number" in d.dt.text)
    assert re.fullmatch(r"[0-9a-f]{12}", fact.dd.text)
    return fact.dd.text


def test_a_test_s_report_holds_what_a_test_report_must(client, tested):
    sheet = report(client, "/discharges/5")
    titles = [re.sub(r"\s+", " ", h.text) for h in sheet.select("h2")]
    assert titles == [
        "Battery",
        "Procedure",
        "Conditions and meter",
        "Deviations from the reference conditions",
        "Result",
        "Uncertainty of the result",
        "Course of the discharge",
        "How far to trust the gauge",
        "Compared with the level it must still hold",
        "Before you connect anything",
        "Scope of this report",
        "Signatures",
        "Annex: readings",
    ]
    text = words(sheet)
    for said in (
        "Capacity test report",
        "Date of issue 25 Nov 2026",
        "Date of the test 15 Nov 2026",
        "charged full, then rested an hour or more",
        "lamps; 9.00 A on average, 9.00 to 9.00 A",
        "the battery's protection switched it off; last voltage 10.00 V",
        "24.0 °C, read at the battery, mean (24.0 to 24.0 °C)",
        "reading within ± 1 %, zero point within ± 0.05 A, smallest step 0.1 A",
        "relate to the battery and the conditions tested only",
        "JCGM 100:2008",
        "Tested by",
        "Witnessed by",
        "Fadeline 0.1.0",
    ):
        assert said in text, said
    assert "you" not in re.findall(r"\w+", words(sheet.select_one(".finding")).lower())


def test_every_number_of_a_test_s_report_is_the_page_s_own(client, tested):
    page, sheet = soup(client.get("/discharges/5")), report(client, "/discharges/5")
    assert words(sheet.select_one(".headline")) == words(page.select_one(".headline"))
    for verdict in page.select("p.verdict"):
        assert words(verdict) in words(sheet.select_one(".finding"))
    for name in ("trace", "budget"):
        ours, theirs = cells(sheet.select_one(f"table.{name}")), cells(page.select_one(f".{name}"))
        assert [[c.removesuffix(" How") for c in row] for row in theirs] == ours
    for heading in ("sure-title", "gauge-title"):
        said = page.select_one(f"section[aria-labelledby={heading}] p")
        uncertain = words(said).split(" The largest source")[0].removesuffix(" How")
        assert uncertain in words(sheet)
    rows = {
        row[0]: row for row in cells(page.select_one("section[aria-labelledby=readings-title]"))
    }
    printed = cells(sheet.select_one("table.log"))
    for number, clock, run, amps, volts, warm, counted, gauge in printed:
        there = rows[number]
        expected = [clock, run, f"{amps} A", f"{volts} V", f"{warm} °C", f"{counted} Ah"]
        assert there[1:7] == expected
        assert there[10] == f"{gauge} %"


def test_the_budget_s_lines_add_up_to_what_stands_below_them(client, tested):
    rows = cells(report(client, "/discharges/5").select_one("table.budget"))
    lines = [float(row[5].removesuffix(" Ah")) for row in rows]
    assert sum(one**2 for one in lines[:-1]) ** 0.5 == pytest.approx(lines[-1], abs=0.002)


def test_every_number_of_a_battery_s_report_is_the_page_s_own(client, tested):
    path = f"/batteries/{tested.id}"
    page, sheet = soup(client.get(path)), report(client, path)
    for fact in page.select_one("dl.facts").select("div"):
        assert words(fact) in words(sheet)
    theirs = cells(soup(client.get(f"{path}/tests")).select_one(".all table"))[::-1]
    ours = cells(sheet.select_one("table.tests"))
    assert [row[:8] for row in ours] == [row[:8] for row in theirs]
    for row, test_id in zip(ours, range(1, 6), strict=True):
        assert row[8] == number_of(client, f"/discharges/{test_id}")


def test_both_pages_lead_to_their_report(client, tested):
    for path, name in ((f"/batteries/{tested.id}", "Print"), ("/discharges/5", "Print a report")):
        link = soup(client.get(path)).find("a", string=name)
        assert link["href"] == f"{path}/report"


def test_a_report_has_its_chart_and_loads_no_chart_library(client, tested):
    for path in (f"/batteries/{tested.id}", "/discharges/5"):
        page = soup(client.get(f"{path}/report"))
        assert page.select_one("figure svg title")
        assert not page.select("script[src*=chart]")


@pytest.mark.parametrize("path", ["/discharges/5", "/batteries/1"])
def test_only_the_serial_number_is_printed_unless_more_is_ticked(client, store, tested, path):
    events.add_event(store, tested.id, date(2026, 1, 5), EventKind.MOVED, "SECRETEVENT")
    usual, full, bare = (words(report(client, path, query)) for query in ("", ALL, NONE))
    assert "SECRETSERIAL" in usual
    for private in ("SECRETPLACE", "SECRETNOTES", "SECRETTESTNOTES", "SECRETEVENT", "987654"):
        assert private not in usual
    for told in ("SECRETSERIAL", "SECRETPLACE", "SECRETNOTES"):
        assert told in full
        assert told not in bare
    assert ("SECRETEVENT" if "batteries" in path else "SECRETTESTNOTES") in full
    assert "987654" not in client.get(f"{path}/report{ALL}").text
    assert "Annex: readings" in full
    assert "Annex: readings" not in bare


def test_what_is_ticked_stays_ticked(client, tested):
    page = soup(client.get("/discharges/5/report?chosen=yes&place=on"))
    ticked = [box["name"] for box in page.select("input[type=checkbox]") if box.has_attr("checked")]
    assert ticked == ["place"]


def test_a_print_carries_the_same_number_whatever_it_shows_and_whenever(client, app, tested):
    first = number_of(client, "/discharges/5"), number_of(client, f"/batteries/{tested.id}")
    assert first[0] in words(report(client, "/discharges/5", NONE))
    app.state.clock = lambda: NOW + timedelta(days=3)
    assert (number_of(client, "/discharges/5"), number_of(client, "/batteries/1")) == first
    assert "28 Nov 2026" in words(report(client, "/discharges/5"))


def test_an_edited_test_carries_another_number_and_so_does_its_battery(client, store, tested):
    before = [
        number_of(client, path) for path in ("/discharges/5", "/discharges/4", "/batteries/1")
    ]
    discharges.leave_out(store, 5, "the charger was on", NOW)
    after = [number_of(client, path) for path in ("/discharges/5", "/discharges/4", "/batteries/1")]
    assert after[0] != before[0]
    assert after[1] == before[1]
    assert after[2] != before[2]
    assert "the charger was on" in words(report(client, "/discharges/5"))


def test_a_price_and_the_use_on_the_road_change_no_number(client, store, tested):
    before = number_of(client, "/batteries/1"), number_of(client, "/discharges/5")
    changed = replace(tested.details, price=1.0, currency="EUR", charge_ah_a_day=40.0)
    batteries.change_battery(store, 1, changed, NOW)
    assert (number_of(client, "/batteries/1"), number_of(client, "/discharges/5")) == before


def test_a_long_log_is_thinned_and_says_so(client, store, battery):
    add(store, battery, steady(hours=10, step_h=1 / 60))
    sheet = report(client, "/discharges/1")
    rows = cells(sheet.select_one("table.log"))
    assert len(rows) == 100
    assert (rows[0][0], rows[-1][0]) == ("1", "601")
    said = "The table shows 100 of 601 readings; the count uses all of them under load."
    assert said in words(sheet)
    assert "601 counted of 601" in words(sheet)


def test_columns_that_nobody_read_are_not_printed(client, store, battery):
    readings = steady(hours=10)
    empty = column([None] * len(readings))
    add(store, battery, replace(readings, gauge_percent=empty, temperature_c=empty))
    heads = [th.text for th in report(client, "/discharges/1").select("table.log thead th")]
    assert heads == ["#", "Clock", "Run time", "Current, A", "Voltage, V", "Counted, Ah"]


def test_a_battery_without_tests_has_a_report_that_says_so(client, battery):
    sheet = report(client, f"/batteries/{battery.id}")
    assert "No capacity test yet." in words(sheet)
    assert not sheet.select("figure, table")


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/discharges/99", "There is no test 99; it may be in the bin."),
        ("/batteries/99", "There is no battery 99; it may be in the bin."),
        (
            "/discharges/x",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
    ],
)
def test_there_is_no_report_of_what_does_not_exist(client, path, words):
    answer = client.get(f"{path}/report")
    assert answer.status_code == 404
    assert words in soup(answer).main.text


def test_a_report_of_what_lies_in_the_bin_is_not_to_be_had(client, store, tested):
    discharges.bin_discharge(store, 5, NOW)
    answer = client.get("/discharges/5/report")
    assert answer.status_code == 404
    assert "There is no test 5; it may be in the bin." in answer.text
    # Of five tests four are left, the newest of 15 November 2025.
    sheet = words(report(client, "/batteries/1"))
    assert "15 Nov 2025" in sheet
    assert "15 Nov 2026" not in sheet


@pytest.mark.parametrize("path", ["/discharges/5/report", "/batteries/1/report"])
def test_a_report_opens_on_the_owner_s_machine_alone(app, tested, path):
    with TestClient(app, client=("192.168.1.20", 5000)) as stranger:
        response = stranger.get(path)
    assert response.status_code == 403
    assert "SECRETSERIAL" not in response.text


def test_words_that_look_like_markup_are_printed_as_words(client, store):
    battery = batteries.add_battery(store, battery_details(name='<b onclick="x">&"'))
    add(store, battery, load="<script>alert(1)</script>")
    for path in ("/discharges/1", "/batteries/1"):
        page = client.get(f"{path}/report{ALL}").text
        assert "<b onclick" not in page
        assert "<script>alert" not in page
