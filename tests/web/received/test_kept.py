"""A file that somebody sent is kept once, as a battery of its own, and touches nothing else."""

from datetime import timedelta

from app.domain.entities.meter import MeterKind
from app.services.entities import batteries, discharges
from app.services.exchange import import_file
from app.services.exchange.export_file import battery_to_send
from tests.builders import NOW, add_five_tests, battery_details, discharge_details, steady
from tests.web.conftest import refusals_of, soup
from tests.web.received.files import holds, keep, look, store_of


def test_kept_it_is_a_battery_of_its_own_marked_as_received(away, client, sent_by_client):
    answer = keep(away, sent_by_client)
    assert answer.url.path == "/batteries/1"
    page = soup(answer)
    assert page.h1.text == "Bench battery (received)"
    assert "Received on 25 Nov 2026 in a file that Fadeline 0.1.0 made" in page.text
    own = soup(client.get("/batteries/1"))
    results = [[c.text for c in row.select("td")] for row in own.select("table tbody tr")]
    assert [[c.text for c in row.select("td")] for row in page.select("table tbody tr")] == results
    assert page.select("dl.facts dd")[1].text == own.select("dl.facts dd")[1].text
    assert "moved" in page.select_one("section[aria-labelledby=events-title]").text
    assert "a received file, as of 25 Nov 2026" in soup(away.get("/discharges/1")).text


def test_the_same_file_twice_does_not_double(away, sent):
    keep(away, sent)
    page = soup(look(away, sent))
    assert "It is here already, with all of these tests." in " ".join(page.main.text.split())
    assert page.select("form button") == []
    staged = page.select_one("input[name=staged]")["value"]
    assert away.post("/received", data={"staged": staged}).url.path == "/batteries/1"
    assert holds(away) == ["Bench battery (received)"]
    assert len(batteries.list_batteries(store_of(away), NOW.date()).shown[0].tests) == 5
    assert len(batteries.list_batteries(store_of(away), NOW.date()).shown[0].events) == 1


def test_a_later_file_adds_its_new_tests_to_the_battery_that_came_before(
    away, client, store, tested, sent_by_client
):
    keep(away, sent_by_client)
    details = discharge_details(steady(hours=9.8, step_h=0.1), days_ago=2)
    discharges.add_discharge(store, tested.id, details, MeterKind.SHUNT, NOW)
    later = client.get(f"/batteries/{tested.id}/file.html").text
    words = " ".join(soup(look(away, later)).main.text.split())
    assert "It is here already with 5 of these tests, which stay as they are; 1 is new." in words
    keep(away, later)
    (report,) = batteries.list_batteries(store_of(away), NOW.date()).shown
    assert len(report.tests) == 6
    assert len({test.meter_id for test in report.points}) == 1, "its meter is the one that came"


def test_one_s_own_battery_is_never_touched_by_a_file_of_it(client, store, tested, sent_by_client):
    before = batteries.show_battery(store, tested.id, NOW.date()).report
    keep(client, sent_by_client)
    assert batteries.show_battery(store, tested.id, NOW.date()).report == before
    assert holds(client) == ["Bench battery", "Bench battery (received)"]


def test_what_was_received_can_be_sent_on_and_agrees(away, sent):
    keep(away, sent)
    again = away.get("/batteries/1/file.html").text
    assert soup(look(away, again)).select_one(".headline").text == "Every figure agrees."


def test_tests_of_one_meter_stay_tests_of_one_meter(away, store, sent_by_client):
    keep(away, sent_by_client)
    there = [discharges.show_discharge(store_of(away), n).discharge.details for n in (1, 2)]
    assert there[0].meter_id == there[1].meter_id
    mine, theirs = (discharges.show_discharge(s, 5).report for s in (store, store_of(away)))
    assert theirs.verdicts[-1] == mine.verdicts[-1]
    assert theirs.meter == "shunt with display, received with Bench battery"


def test_one_that_lies_in_the_bin_is_said(away, sent):
    keep(away, sent)
    away.post("/bin/battery/1")
    answer = look(away, sent)
    assert answer.status_code == 422
    assert "is in the bin; restore it there first" in refusals_of(soup(answer))


def test_a_file_that_waited_too_long_is_asked_for_once_more(away, sent):
    looked = soup(look(away, sent))
    staged = looked.select_one("input[name=staged]")["value"]
    (store_of(away).staging / staged).unlink()
    answer = away.post("/received", data={"staged": staged})
    assert answer.status_code == 422
    assert "the file once more" in soup(answer).text
    assert away.post("/received", data={"staged": "../fadeline.db"}).status_code == 422


def test_a_test_that_clashes_with_one_s_own_stores_nothing_of_the_file(
    away, client, store, tested, sent_by_client
):
    keep(away, sent_by_client)
    details = discharge_details(steady(hours=9.8, step_h=0.1), days_ago=2)
    discharges.add_discharge(store_of(away), 1, details, MeterKind.SHUNT, NOW)
    for days in (3, 2):
        details = discharge_details(steady(hours=9.8, step_h=0.1), days_ago=days)
        discharges.add_discharge(store, tested.id, details, MeterKind.SHUNT, NOW)
    answer = keep(away, client.get(f"/batteries/{tested.id}/file.html").text)
    assert answer.status_code == 422
    assert "no other test of this battery starts" in soup(answer).text
    assert len(batteries.list_batteries(store_of(away), NOW.date()).shown[0].tests) == 6


def test_a_long_name_keeps_its_mark(store):
    sent = battery_to_send(
        store,
        batteries.add_battery(store, battery_details(name="n" * 80)).id,
        NOW.date() + timedelta(days=1),
        "0.1.0",
        demo=False,
    )
    number = import_file.keep_received(store, sent, NOW)
    name = batteries.get_battery(store, number).details.name
    assert len(name) == 80
    assert name.endswith("n (received)")


def test_the_records_page_leads_to_it(client):
    assert soup(client.get("/records")).select_one("a[href='/received']")
    assert soup(client.get("/received")).select_one("input[type=file][name=file]")


def test_a_battery_whose_name_stands_for_nothing_elsewhere_is_received(away, client, store):
    battery = batteries.add_battery(store, battery_details(name="NULL", notes="NULL_"))
    add_five_tests(store, battery)
    keep(away, client.get(f"/batteries/{battery.id}/file.html").text)
    assert holds(away) == ["NULL (received)"]
