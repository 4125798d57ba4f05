"""What a printed report says of the level that a battery must still hold."""

from datetime import date

import pytest

from app.domain.entities.discharge import EndReason
from app.domain.threshold import ThresholdKind
from app.services.entities import batteries, discharges
from tests.builders import NOW, at_temperature, battery_details, steady
from tests.web.conftest import soup
from tests.web.printed import add, cells, report, words

pytestmark = pytest.mark.any_database


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
    add(store, battery, at_temperature(steady(hours=7), 48.0))
    sheet = report(client, "/discharges/1")
    assert cells(sheet.select_one("table.claims"))[0][2] == "not shown either way"
    assert "no, and it matters" in words(sheet.select_one("table.deviations"))


def test_what_the_table_of_corrections_says_is_not_said_again(client, store, battery):
    add(store, battery, at_temperature(steady(hours=7), 48.0))
    remarks = words(report(client, "/discharges/1").select_one("ul.reasons"))
    assert "The readings are 1.0 h apart" in remarks
    assert "covers" not in remarks
    assert "covers −30 to 45 °C" in words(report(client, "/discharges/1").select_one(".trace"))


def test_a_lower_bound_s_share_is_rounded_down(client, store, battery):
    # 63.56 Ah less what the meter may be off: 62.6 Ah of the rated 100 Ah.
    add(store, battery, steady(hours=7, amps=9.08, last_v=12.8), end_reason=EndReason.TIME)
    for page in (report(client, "/batteries/1"), soup(client.get("/batteries/1/tests"))):
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
    assert "no earlier one to compare this test with" in words(first)
    assert cells(second.select_one("table.claims"))[0][1] == "79.2 Ah"


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


def test_a_test_far_from_the_rest_is_a_link_on_its_owner_s_page(client, store, battery):
    for number, hours in enumerate((11, 11, 10.9, 10.9, 10.8, 10.8, 7)):
        add(store, battery, steady(hours=hours, step_h=0.1), days_ago=700 - 100 * number)
    page = soup(client.get("/batteries/1"))
    (far,) = [p for p in page.select("p.caveat, .caveat li") if "far from the rest" in p.text]
    assert [link["href"].rsplit("/", 2)[1:] for link in far.select("a")] == [["discharges", "7"]]


def test_two_chances_for_one_question_name_what_each_rests_on(client, store):
    terms = {"warranty_from": date(2024, 1, 1), "warranty_years": 5.0, "warranty_share": 0.6}
    battery = batteries.add_battery(store, battery_details(**terms))
    add(store, battery, steady(hours=10, step_h=0.1), days_ago=30)
    own = words(soup(client.get("/batteries/1")))
    assert "Still above 80 % of rated (80 Ah) today, by all tests and published cells: " in own
    page = words(soup(client.get("/batteries/1/warranty")))
    assert "below the promised 60.0 Ah on that day, by this test alone. The overview" in page
    assert "is about your own limit today, by all tests and published cells" in page
