"""The ways into the form of a test: one is in sight and read, and what stands in others is kept."""

import pytest

from tests.web.conftest import soup
from tests.web.test_edit_conflicts import form_of
from tests.web.typed import CONDITIONS, PASTE, ROWS, as_sent, chosen, post_test


def way_of(page):
    return chosen(page, "way")


def test_a_new_test_is_typed_unless_its_address_says_another_way(client, battery):
    new = f"/batteries/{battery.id}/discharges/new"
    assert way_of(soup(client.get(new))) == "typed"
    assert way_of(soup(client.get(f"{new}?way=result"))) == "result"
    assert way_of(soup(client.get(f"{new}?way=nonsense"))) == "typed"


def test_the_chosen_way_is_read_and_the_others_are_kept_and_said(client, battery):
    both = {"pasted": PASTE, "counted_ah": "96.4"}
    page = soup(post_test(client, battery, "check", way="typed", **both))
    assert way_of(page) == "typed"
    assert "not part of this test: pasted readings" in page.select_one(".preview").text
    assert "not part of this test: a noted result" in page.select_one(".preview").text
    assert page.find(id="counted_ah")["value"] == "96.4"
    assert page.find(id="pasted").text.split() == PASTE.split()
    assert "Measured 90.1 Ah" in page.select_one(".headline").text
    page = soup(post_test(client, battery, "check", way="result", **both))
    assert "Measured 96.4 Ah" in page.select_one(".headline").text
    assert page.find(id="current_3")["value"] == "9,0"


def test_a_way_that_holds_nothing_gives_way_to_the_only_one_that_does(client, battery):
    page = soup(post_test(client, battery, "check", way="file"))
    assert way_of(page) == "typed"
    assert "Measured 90.1 Ah" in page.select_one(".headline").text


def test_what_was_typed_outlives_a_file_that_is_tried(client, battery):
    page = soup(post_test(client, battery, "check", way="pasted", pasted=PASTE, counted_ah="9"))
    staged = as_sent(page.main.form)
    assert (staged["current_3"], staged["counted_ah"]) == ("9,0", "9")
    address = f"/batteries/{battery.id}/discharges"
    back = soup(client.post(address, data=staged | {"action": "drop_file"}))
    assert way_of(back) == "pasted"
    assert back.find(id="pasted").text.split() == PASTE.split()
    assert back.find(id="current_3")["value"] == "9,0"
    assert client.post(address, data=staged | {"action": "store"}).status_code == 200
    assert client.get("/api/discharges/1").json()["source"] == "pasted"


@pytest.mark.parametrize("way", ["typed", "result"])
def test_an_edit_shows_the_way_it_came(client, battery, way):
    if way == "typed":
        post_test(client, battery)
    else:
        values = CONDITIONS | {"counted_ah": "96.4", "action": "store"}
        client.post(f"/batteries/{battery.id}/discharges", data=values)
    assert form_of(client, "/discharges/1/edit")["way"] == way


def test_new_readings_of_an_edit_take_the_place_of_those_it_shows(client, battery):
    post_test(client, battery)
    values = form_of(client, "/discharges/1/edit") | {"way": "pasted", "pasted": PASTE}
    page = soup(client.post("/discharges/1", data=values | {"action": "check"}))
    assert not page.select(".problems")
    assert "not part of this test" not in page.text


def test_large_choices_say_what_each_proves_and_none_is_proposed(client, battery):
    page = soup(client.get(f"/batteries/{battery.id}/discharges/new"))
    said = {one.input["value"]: one.small.text if one.small else "" for one in page.select(".pick")}
    assert said["protection"] == said["cut_off_voltage"] == "can measure capacity"
    assert {said[one] for one in ("gauge_reserve", "time", "load", "unknown", "not_full")} == {
        "lower bound only"
    }
    assert chosen(page, "end_reason") == chosen(page, "charge_condition") == ""


def test_what_is_folded_says_what_it_holds(client, battery):
    first = soup(client.get(f"/batteries/{battery.id}/discharges/new")).select_one(".rest summary")
    assert "Meter: typical: " in first.text
    assert "as last time" not in first.text
    post_test(client, battery)
    next_one = soup(client.get(f"/batteries/{battery.id}/discharges/new")).select_one(".rest")
    assert "load: lamps" in next_one.summary.text
    assert "as last time" in next_one.summary.text
    assert not next_one.has_attr("open")
    wrong = soup(post_test(client, battery, meter="banana")).select_one(".rest")
    assert wrong.has_attr("open")


def test_hours_alone_are_read_once_the_start_time_is_said(client, battery):
    rows = [(f"{hour}:00", *rest) for hour, (_, *rest) in enumerate(ROWS)]
    refused = soup(post_test(client, battery, rows=rows, start_time=""))
    assert refused.select(".problems a[href='#start_time']")
    assert refused.select_one(".rest").has_attr("open")
    assert post_test(client, battery, rows=rows, start_time="00:00").status_code == 303
