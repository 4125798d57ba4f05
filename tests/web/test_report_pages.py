"""Reports for print: the page's own numbers, what the owner chose to show, and to nobody else."""

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from fastapi.testclient import TestClient

from app.domain.discharge import EndReason
from app.domain.event import EventKind
from app.domain.meter import MeterKind
from app.domain.readings import column
from app.domain.threshold import ThresholdKind
from app.services import batteries, discharges, events
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.web.conftest import soup

ALL = "?chosen=yes&serial=on&place=on&notes=on&readings=on"
NONE = "?chosen=yes"


def words(tag):
    return " ".join(tag.get_text(" ").split())


def report(client, path, query=""):
    response = client.get(f"{path}/report{query}")
    assert response.status_code == 200, response.text
    return soup(response).select_one("article.sheet")


def number_of(client, path):
    fact = next(d for d in report(client, path).select("dl.head div") if "number" in d.dt.text)
    assert re.fullmatch(r"[0-9a-f]{12}", fact.dd.text)
    return fact.dd.text


def cells(table):
    return [[words(cell) for cell in row.select("th, td")] for row in table.select("tbody tr")]


def add(store, battery, readings=None, **changes):
    details = discharge_details(readings, **changes)
    return discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


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
        "What the gauge is worth",
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
    theirs = cells(page.select_one("section[aria-labelledby=tests-title] table"))[::-1]
    ours = cells(sheet.select_one("table.tests"))
    assert [row[:8] for row in ours] == [row[:8] for row in theirs]
    for row, test_id in zip(ours, range(1, 6), strict=True):
        assert row[8] == number_of(client, f"/discharges/{test_id}")


def test_both_pages_lead_to_their_report(client, tested):
    for path in (f"/batteries/{tested.id}", "/discharges/5"):
        link = soup(client.get(path)).find("a", string="Report for print")
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


def test_a_lower_bound_below_the_threshold_proves_nothing_about_a_claim(client, store, battery):
    add(store, battery, steady(hours=7, last_v=12.8), end_reason=EndReason.TIME)
    sheet = report(client, "/discharges/1")
    assert "At least 62." in words(sheet.select_one(".headline"))
    claim = cells(sheet.select_one("table.claims"))[0]
    assert claim[2] == "not shown either way"
    assert "proves nothing about a claim" in claim[3]


@pytest.mark.parametrize(("hours", "said"), [(7, "shown: below the level"), (10, "is held")])
def test_a_measurement_says_whether_the_evidence_carries_it(client, store, battery, hours, said):
    add(store, battery, steady(hours=hours))
    for path in ("/discharges/1", "/batteries/1"):
        assert said in cells(report(client, path).select_one("table.claims"))[0][2]


def test_the_warranty_s_promise_stands_beside_the_threshold(client, store):
    terms = {"warranty_from": date(2024, 1, 1), "warranty_years": 5.0, "warranty_share": 0.6}
    battery = batteries.add_battery(store, battery_details(**terms))
    add(store, battery, steady(hours=7))
    for path in ("/discharges/1", "/batteries/1"):
        sheet = report(client, path)
        claims = cells(sheet.select_one("table.claims"))
        assert claims[0][2] == "shown: below the level"
        assert claims[1][:3] == ["warranty: 60 % of rated", "60.0 Ah", "shown: the level is held"]
        assert "from 1 Jan 2024 until 1 Jan 2029" in words(sheet)


def test_a_test_at_a_temperature_nothing_corrects_leaves_the_level_open(client, store, battery):
    readings = steady(hours=7)
    warm = replace(
        readings, temperature_c=type(readings.temperature_c)("d", [48.0] * len(readings))
    )
    add(store, battery, warm)
    sheet = report(client, "/discharges/1")
    assert cells(sheet.select_one("table.claims"))[0][2] == "not shown either way"
    assert "no, and it matters" in words(sheet.select_one("table.deviations"))


def test_what_the_table_of_corrections_says_is_not_said_again(client, store, battery):
    readings = steady(hours=7)
    add(store, battery, replace(readings, temperature_c=column([48.0] * len(readings))))
    remarks = words(report(client, "/discharges/1").select_one("ul.reasons"))
    assert "Readings stand 1.0 h apart" in remarks
    assert "outside" not in remarks
    assert "outside −30 to 35 °C" in words(report(client, "/discharges/1").select_one(".trace"))


def test_a_lower_bound_s_share_is_rounded_down(client, store, battery):
    # 63.56 Ah less what the meter may be off: 62.6 Ah of the rated 100 Ah.
    add(store, battery, steady(hours=7, amps=9.08, last_v=12.8), end_reason=EndReason.TIME)
    for page in (report(client, "/batteries/1"), soup(client.get("/batteries/1"))):
        row = next(row for table in page.select("table") for row in cells(table) if len(row) == 9)
        bound = float(row[1].split()[2])
        assert bound % 1 > 0.5, "rounding would raise it"
        assert row[3] == f"at least {int(bound)} %"


def test_a_share_of_the_first_test_is_held_against_an_earlier_one_alone(client, store):
    about = battery_details(threshold_kind=ThresholdKind.FIRST_TEST)
    battery = batteries.add_battery(store, about)
    for hours, days_ago in ((11, 400), (8, 10)):
        add(store, battery, steady(hours=hours), days_ago=days_ago)
    first, second = report(client, "/discharges/1"), report(client, "/discharges/2")
    assert "no earlier one to hold this test against" in words(first)
    assert cells(second.select_one("table.claims"))[0][1] == "79.2 Ah"


def test_a_long_log_is_thinned_and_says_so(client, store, battery):
    add(store, battery, steady(hours=10, step_h=1 / 60))
    sheet = report(client, "/discharges/1")
    rows = cells(sheet.select_one("table.log"))
    assert len(rows) == 100
    assert (rows[0][0], rows[-1][0]) == ("1", "601")
    assert "100 of 601 readings are shown; all of them under load were counted." in words(sheet)
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


def test_levels_are_held_against_the_newest_measured_test_that_counts(client, store, tested):
    add(store, tested, steady(hours=3, last_v=12.8), days_ago=2, end_reason=EndReason.TIME)
    assert "The test of 15 Nov 2026 in full" in words(report(client, "/batteries/1"))
    discharges.leave_out(store, 5, "the charger was on", NOW)
    assert "The test of 15 Nov 2025 in full" in words(report(client, "/batteries/1"))


def test_a_newest_test_far_from_the_rest_is_no_ground_for_a_claim_alone(client, store, battery):
    for number, hours in enumerate((11, 11, 10.9, 10.9, 10.8, 10.8, 7)):
        add(store, battery, steady(hours=hours, step_h=0.1), days_ago=700 - 100 * number)
    sheet = report(client, "/batteries/1")
    assert "shown: below the level" in words(sheet.select_one("table.claims"))
    assert "far from the rest of the tests: look at how it was done" in words(sheet)
    discharges.leave_out(store, 7, "the load dropped out", NOW)
    assert "far from the rest of the tests" not in words(report(client, "/batteries/1"))


@pytest.mark.parametrize("path", ["/discharges/99", "/batteries/99", "/discharges/x"])
def test_there_is_no_report_of_what_does_not_exist(client, path):
    assert client.get(f"{path}/report").status_code == 404


def test_a_report_of_what_lies_in_the_bin_is_not_to_be_had(client, store, tested):
    discharges.bin_discharge(store, 5, NOW)
    assert client.get("/discharges/5/report").status_code == 404
    assert client.get("/batteries/1/report").status_code == 200


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
