"""The page of past versions, and the button that brings one back."""

import re

import pytest

from app.domain.entities.meter import MeterKind
from app.services.entities import batteries, discharges, meters
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.web.conftest import refusals_of, soup
from tests.web.typed import as_sent


def change_name(client, store, battery, name):
    """An edit through the form, with all else as it is."""
    values = as_sent(soup(client.get(f"/batteries/{battery.id}/edit")).main.form)
    return client.post(f"/batteries/{battery.id}", data=values | {"name": name})


def press(client, form, **changes):
    """Send a form of a page as its button does."""
    values = {one["name"]: one["value"] for one in form.select("input[type=hidden]")}
    return client.post(form["action"], data=values | changes)


def version_forms(page):
    return page.select("section.version form")


def test_there_is_a_link_where_there_is_a_history_and_only_there(client, store, battery):
    test = discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)
    pages = (f"/batteries/{battery.id}", f"/discharges/{test.id}", "/meters")
    for path in pages:
        assert "/history/" not in client.get(path).text
    change_name(client, store, battery, "Other")
    discharges.leave_out(store, test.id, "cold", NOW)
    (meter,) = meters.list_meters(store)
    values = {"name": "Mine", "kind": "shunt", "gain_limit_percent": "1"}
    values |= {"offset_limit_a": "0.05", "resolution_a": "0.1"}
    client.post(f"/meters/{meter.id}", data=values)
    for path, thing in zip(pages, ("battery", "discharge", "meter"), strict=True):
        link = soup(client.get(path)).main.select_one("a[href^='/history/']")
        assert link["href"] == f"/history/{thing}/1"
        page = soup(client.get(link["href"]))
        assert len(version_forms(page)) == 1
        assert page.select_one(".crumb a")["href"] == path


def test_an_edit_through_the_form_tells_only_what_was_changed(client, store, battery):
    change_name(client, store, battery, "Other")
    page = soup(client.get("/history/battery/1"))
    assert [" ".join(one.text.split()) for one in page.select(".changes li")] == [
        "Name “Bench battery” → “Other”"
    ]


def test_a_form_stored_as_it_was_is_no_edit(client, store, battery):
    details = battery_details(rated_ah=101.23456789, daily_use_ah=33.3333333)
    batteries.change_battery(store, battery.id, details, NOW)
    response = change_name(client, store, battery, "Bench battery")
    assert batteries.get_battery(store, battery.id).version == 2
    assert batteries.get_battery(store, battery.id).details == details
    assert not soup(response).select(".notice")


def test_a_version_is_brought_back_and_the_page_of_versions_says_so(client, store, battery):
    change_name(client, store, battery, "Other")
    page = soup(press(client, version_forms(soup(client.get("/history/battery/1")))[0]))
    assert batteries.get_battery(store, battery.id).details == battery_details()
    assert "Version 3 is in use" in page.main.text
    assert "Name “Other” → “Bench battery”" in page.select_one(".notice").text
    # Version 1 is what is in use again, so that one cannot be brought back, version 2 can.
    assert len(version_forms(page)) == 1


def test_a_page_that_is_out_of_date_brings_nothing_back_and_shows_the_new_history(
    client, store, battery
):
    change_name(client, store, battery, "Other")
    form = version_forms(soup(client.get("/history/battery/1")))[0]
    change_name(client, store, battery, "Third")
    response = press(client, form)
    assert response.status_code == 409
    assert "changed again after this page was opened" in response.text
    assert len(version_forms(soup(response))) == 2
    assert batteries.get_battery(store, battery.id).details.name == "Third"


def test_a_version_that_no_longer_fits_is_refused_beside_the_history(client, store, battery):
    first = discharges.add_discharge(store, 1, discharge_details(), MeterKind.SHUNT, NOW)
    later = discharge_details(days_ago=9)
    discharges.change_discharge(store, first.id, later, first.details.meter_id, NOW)
    discharges.add_discharge(store, 1, discharge_details(), MeterKind.SHUNT, NOW)
    response = press(client, version_forms(soup(client.get("/history/discharge/1")))[0])
    assert response.status_code == 422
    page = soup(response)
    assert "Version 1 cannot be brought back" in refusals_of(page)
    assert len(version_forms(page)) == 1


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/history/battery/99", "There is no battery 99; it may be in the bin."),
        (
            "/history/run/1",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
        (
            "/history/battery/x",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
        (
            "/history/battery/0",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
        (
            "/history/battery/99999999999999999999",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
        (
            "/history/battery/1?up_to=x",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
        ("/history/event/1", "There is no event 1; it may be in the bin."),
        ("/history/discharge/1", "There is no test 1; it may be in the bin."),
    ],
)
def test_what_has_no_history_is_a_page_that_says_so(client, battery, path, words):
    answer = client.get(path)
    assert answer.status_code == 404
    assert words in soup(answer).main.text


@pytest.mark.parametrize("seen", ["", "x", "-1", "²", "9" * 30, "1"])
def test_a_button_without_a_sensible_version_changes_nothing(client, store, battery, seen):
    change_name(client, store, battery, "Other")
    form = version_forms(soup(client.get("/history/battery/1")))[0]
    assert press(client, form, seen=seen).status_code == 409
    assert client.post("/history/battery/1/999", data={"seen": "2"}).status_code == 404
    assert batteries.get_battery(store, battery.id).version == 2


def test_moments_are_told_by_this_machine_s_clock(client, store, battery, zone):
    change_name(client, store, battery, "Other")
    for name, shown in (("Asia/Tokyo", "21:00"), ("America/Lima", "07:00")):
        zone(name)
        assert f"25 Nov 2026, {shown}" in soup(client.get("/history/battery/1")).text


def test_what_was_typed_is_shown_as_text(client, store, battery):
    change_name(client, store, battery, "<b>bold</b>")
    change_name(client, store, battery, "plain")
    for path in ("/history/battery/1", "/batteries/1?done=edit.battery.1.2"):
        answer = client.get(path)
        assert not soup(answer).main.select("b")
        assert re.search("&lt;b&gt;bold", answer.text)


def test_a_history_without_edits_says_so(client, battery):
    assert "No edit is kept of this battery" in client.get("/history/battery/1").text
    assert client.get("/history/battery/1?up_to=5").status_code == 200


def test_a_test_from_another_time_zone_keeps_its_start_when_its_notes_are_edited(
    client, store, battery, zone
):
    zone("Asia/Tokyo")
    started = discharge_details().started_at.replace(microsecond=250_000)
    details = discharge_details(started_at=started)
    discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    store_test(client, notes="windy")
    after = discharges.show_discharge(store, 1).discharge
    assert (after.version, after.details.notes) == (2, "windy")
    assert after.details.started_at == started
    # The clock that is shown is that of the place where the test was entered.
    store_test(client, day="2026-11-15", start_time="14:30")
    after = discharges.show_discharge(store, 1).discharge.details
    assert after.started_local.isoformat() == "2026-11-15T14:30:00+01:00"


def test_readings_with_more_digits_than_a_form_shows_stay_as_they_are(client, store, battery):
    details = discharge_details(steady(amps=9.123456789012345))
    discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    store_test(client, load="heater")
    page = soup(client.get("/history/discharge/1"))
    assert page.select_one(".changes").text.split() == ["Load", "“lamps”", "→", "“heater”"]


def store_test(client, **changes):
    """An edit of the test through its form, with all else as it is."""
    form = soup(client.get("/discharges/1/edit")).main.form
    values = as_sent(form)
    response = client.post("/discharges/1", data=values | changes | {"action": "store"})
    assert response.url.path == "/discharges/1"
    assert response.status_code == 200, response.text
