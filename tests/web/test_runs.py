"""A test is carried from its start to its result, reading by reading."""

from datetime import timedelta

import pytest

from tests.web.conftest import soup
from tests.web.running import START, note


def test_a_day_is_carried_from_start_to_result(client, clock, run, battery):
    assert "A test is running" in client.get("/").text
    assert "A test of this battery is running" in client.get(f"/batteries/{battery.id}").text
    for hour in range(10):
        clock.now = START + timedelta(hours=hour)
        assert note(client, run, voltage_v=f"{13.2 - hour / 20:.2f}").status_code == 200
    page = soup(client.get(run))
    assert "81.0 Ah counted" in page.select_one(".headline").text
    assert "Expected end between" in page.main.text
    clock.now = START + timedelta(hours=9.7)
    note(client, run, voltage_v="10.4")
    response = client.post(f"{run}/end", data={"end_reason": "protection"})
    assert "Measured 87.3 Ah" in soup(response).select_one(".headline").text
    assert "It became a" in client.get(run).text


def test_a_refused_reading_keeps_what_was_typed(client, run):
    response = note(client, run, voltage_v="thirteen", clock="25:99")
    assert response.status_code == 422
    page = soup(response)
    assert len(page.select(".problems li")) == 2
    assert page.find(id="voltage_v")["value"] == "thirteen"


def test_readings_are_corrected_struck_out_and_taken_back(client, clock, run):
    note(client, run)
    clock.now += timedelta(hours=1)
    note(client, run)
    client.post(f"{run}/readings/2", data={"action": "correct", "current_a": "10"})
    assert client.get("/api" + run).json()["counted_ah"] == pytest.approx(9.5)
    typed = {"action": "correct", "current_a": "11,x", "voltage_v": "12.77"}
    page = soup(client.post(f"{run}/readings/2", data=typed))
    form = page.select_one("details[open] form")
    assert [one["value"] for one in form.select("input")[:2]] == ["11,x", "12.77"]
    response = client.post(f"{run}/readings/2", data={"action": "strike", "reason": ""})
    assert "reason: got nothing" in response.text
    client.post(f"{run}/readings/2", data={"action": "strike", "reason": "misread"})
    assert client.get("/api" + run).json()["counted_ah"] == 0
    client.post(f"{run}/readings/2", data={"action": "back"})
    assert client.get("/api" + run).json()["counted_ah"] == pytest.approx(9.5)


def test_a_run_can_be_given_up_and_keeps_its_readings(client, run, battery):
    note(client, run)
    page = soup(client.post(f"{run}/abandon"))
    assert "given up" in page.main.text
    assert len(page.select("section > .scroll tbody tr")) == 1
    assert "Given up:" in client.get(f"/batteries/{battery.id}").text


def test_a_run_that_was_given_up_can_be_taken_up_again(client, clock, battery, run):
    note(client, run)
    page = soup(client.post(f"{run}/abandon"))
    assert "given up" in page.text
    other = client.post(
        f"/batteries/{battery.id}/runs",
        data={"charge_condition": "full_rested", "meter": "shunt"},
        follow_redirects=False,
    ).headers["location"]
    refused = client.post(f"{run}/resume")
    assert refused.status_code == 422
    assert "the running one ended first" in refused.text
    client.post(f"{other}/abandon")
    page = soup(client.post(f"{run}/resume"))
    assert page.h1.text == "Running test"
    assert client.get(f"/api{run}/state").json() == {"state": "running", "readings": 1}


def test_two_devices_in_the_same_second_are_two_readings(client, clock, run):
    assert note(client, run, current_a="9.0", voltage_v="13.2").status_code == 200
    assert note(client, run, current_a="9.1", voltage_v="13.1").status_code == 200
    assert note(client, run, current_a="9.1", voltage_v="13.1").status_code == 200
    assert client.get(f"/api{run}/state").json()["readings"] == 2
    wall = clock.now.astimezone()
    refused = note(client, run, current_a="9.3", clock=f"{wall:%H:%M:%S}")
    assert refused.status_code == 422, "a time that was typed is meant"
