import json
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient

from tests.builders import NOW
from tests.web.conftest import soup

START = NOW - timedelta(hours=10)


@pytest.fixture
def clock(app):
    """A clock that tests move by hand."""

    class Clock:
        now = START

        def __call__(self):
            return self.now

    made = Clock()
    app.state.clock = made
    return made


@pytest.fixture
def run(client, battery, clock):
    values = {"charge_condition": "full_rested", "meter": "shunt", "load": "lamps"}
    response = client.post(f"/batteries/{battery.id}/runs", data=values, follow_redirects=False)
    assert response.status_code == 303
    return response.headers["location"]


def note(client, run, **values):
    return client.post(f"{run}/readings", data={"current_a": "9,0", **values})


def test_a_day_is_carried_from_start_to_result(client, clock, run, battery):
    assert "A test is running" in client.get("/").text
    assert "A test of this battery is running" in client.get(f"/batteries/{battery.id}").text
    for hour in range(10):
        clock.now = START + timedelta(hours=hour)
        assert note(client, run, voltage_v=f"{13.2 - hour / 20:.2f}").status_code == 200
    page = soup(client.get(run))
    assert "81.0 Ah counted" in page.select_one(".headline").text
    assert "Expected end with 90 % between" in page.main.text
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


def test_a_reading_of_earlier_carries_its_own_time(client, clock, run):
    note(client, run)
    clock.now = START + timedelta(hours=3)
    earlier = (START + timedelta(hours=1)).astimezone().strftime("%H:%M")
    note(client, run, clock=earlier)
    report = client.get("/api" + run).json()
    assert report["hours"] == [0, pytest.approx(1, abs=0.02)]


def test_a_clock_set_back_an_hour_loses_nothing(client, clock, run):
    note(client, run)
    clock.now = START + timedelta(hours=2)
    note(client, run)
    # The machine's own clock is in UTC inside: what its face shows does not matter.
    clock.now = START + timedelta(hours=3)
    note(client, run)
    assert client.get("/api" + run).json()["hours"] == [0, 2, 3]


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
    assert "Tests given up:" in client.get(f"/batteries/{battery.id}").text


# The feed.


def sent(*hours, **more):
    return {
        "readings": [
            {"at": (START + timedelta(hours=h)).isoformat(), "current_a": 9.0} | more for h in hours
        ]
    }


@pytest.fixture
def word(client, run):
    return soup(client.post(f"{run}/feed")).select_one("input.link")["value"]


def feed(client, run, word, body):
    headers = {"Authorization": f"Bearer {word}"}
    return client.post(f"/api{run}/readings", json=body, headers=headers)


def test_a_feed_sends_in_any_order_and_repeats_safely(client, clock, run, word):
    clock.now = NOW
    assert feed(client, run, word, sent(2, 0, 1)).json() == {"stored": 3, "known": 0}
    assert feed(client, run, word, sent(0, 1, 2)).json() == {"stored": 0, "known": 3}
    assert client.get("/api" + run).json()["counted_ah"] == pytest.approx(18)
    epoch = {"readings": [{"at": (START + timedelta(hours=3)).timestamp(), "current_a": 9.0}]}
    assert feed(client, run, word, epoch).json()["stored"] == 1


def test_a_device_on_the_network_reaches_the_feed_and_nothing_else(app, client, clock, run, word):
    clock.now = NOW
    with TestClient(app, client=("192.168.1.50", 1)) as device:
        assert feed(device, run, word, sent(0)).status_code == 200
        assert feed(device, run, "guess", sent(1)).status_code == 404
        assert device.get("/api" + run).status_code == 403
        assert device.post(f"{run}/readings", data={"current_a": "9"}).status_code == 403


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (sent(99), "time of the reading"),
        (sent(0, current_a=1e9), "current_a at"),
        (sent(0, gauge_percent=140), "from 0 to 100 %"),
        ({"readings": []}, "readings"),
        ({"readings": [{"at": "yesterday", "current_a": 9}]}, "at: got “yesterday”"),
        ({"readings": [{"at": "2026-11-25T08:00:00", "current_a": 9}]}, "timezone"),
        ({"readings": [{"current_a": 9}]}, "at"),
        ({}, "readings"),
        ([1, 2], "got"),
    ],
)
def test_what_a_feed_must_not_send_is_refused_and_nothing_is_stored(
    client, clock, run, word, body, words
):
    clock.now = NOW
    response = feed(client, run, word, body)
    assert response.status_code == 422
    assert words in response.text
    assert client.get("/api" + run).json()["hours"] == []


def test_not_a_number_is_refused(client, clock, run, word):
    clock.now = NOW
    text = '{"readings": [{"at": "' + START.isoformat() + '", "current_a": NaN}]}'
    headers = {"Authorization": f"Bearer {word}", "Content-Type": "application/json"}
    response = client.post(f"/api{run}/readings", content=text, headers=headers)
    assert response.status_code == 422


def test_thousands_of_readings_come_in_at_once(client, clock, run, word):
    clock.now = NOW
    body = {
        "readings": [
            {"at": (START + timedelta(seconds=i)).isoformat(), "current_a": 9.0}
            for i in range(5000)
        ]
    }
    assert feed(client, run, word, body).json()["stored"] == 5000
    assert client.get(run).status_code == 200


def test_the_zone_of_a_reading_does_not_matter(client, clock, run, word):
    clock.now = NOW
    moment = START.astimezone(UTC)
    other = moment.isoformat().replace("+00:00", "Z")
    one = {"readings": [{"at": moment.isoformat(), "current_a": 9.0}]}
    two = {"readings": [{"at": other, "current_a": 9.0}]}
    assert feed(client, run, word, one).json()["stored"] == 1
    assert feed(client, run, word, two).json()["known"] == 1


def test_a_feed_is_held_to_numbers_and_known_names(client, clock, run, word):
    clock.now = START + timedelta(hours=1)
    at = START.isoformat()
    for odd in (
        {"at": at, "current_a": True},
        {"at": at, "current_a": 9.0, "voltage": 12.8},
        {"at": "9999-12-31T23:59:59Z", "current_a": 9.0},
        {"at": "0001-01-01T00:00:00+14:00", "current_a": 9.0},
        {"at": "\ud800", "current_a": "\ud800"},
    ):
        # As text: a lone surrogate can be written in JSON and in nothing else.
        text = json.dumps({"readings": [odd]})
        headers = {"Authorization": f"Bearer {word}", "Content-Type": "application/json"}
        response = client.post(f"/api{run}/readings", content=text, headers=headers)
        assert response.status_code == 422, response.text
    assert client.get(f"/api{run}/state").json() == {"state": "running", "readings": 0}


def test_a_huge_body_is_turned_away_before_it_is_read(client, run):
    response = client.post(f"/api{run}/readings", content=b"x" * 2_000_001)
    assert response.status_code == 413


def test_a_refused_end_keeps_its_own_time_apart_from_the_next_reading(client, clock, run):
    note(client, run)
    clock.now = START + timedelta(hours=2)
    page = soup(client.post(f"{run}/end", data={"end_clock": "10:02"}))
    assert page.find(id="end_clock")["value"] == "10:02"
    assert page.find(id="clock")["value"] == ""


def test_a_first_reading_long_after_the_start_is_said(client, clock, run):
    clock.now = START + timedelta(hours=6)
    note(client, run)
    assert "long after the start" in client.get(run).text
    clock.now = START + timedelta(hours=9)
    note(client, run)
    ended = client.post(f"{run}/end", data={"end_reason": "time"})
    assert "6 h after the start" in ended.text


@pytest.mark.parametrize(
    ("name", "summer_end"),
    [
        ("Europe/Berlin", datetime(2026, 10, 25, 1, tzinfo=UTC)),
        ("Australia/Sydney", datetime(2026, 4, 4, 16, tzinfo=UTC)),
    ],
)
def test_a_run_goes_by_the_clock_on_the_wall_when_that_is_set_back(
    zone, client, battery, clock, name, summer_end
):
    zone(name)
    clock.now = summer_end - timedelta(hours=5)
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    answer = client.post(f"/batteries/{battery.id}/runs", data=form, follow_redirects=False)
    run = answer.headers["location"]
    note(client, run)
    # Half past two comes twice in that night: the second time it means the second one.
    for hours in (-0.5, 0.5, 1.5):
        clock.now = summer_end + timedelta(hours=hours)
        wall = clock.now.astimezone()
        note(client, run, clock=f"{wall:%H:%M}")
    report = client.get(f"/api{run}").json()
    assert report["hours"] == pytest.approx([0, 4.5, 5.5, 6.5])
    assert f"{wall:%H:%M}:00" in client.get(run).text


def test_a_time_over_which_the_clock_was_set_forward_is_refused(zone, client, battery, clock):
    zone("Europe/Berlin")
    clock.now = datetime(2026, 3, 28, 20, tzinfo=UTC)
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    run = client.post(f"/batteries/{battery.id}/runs", data=form, follow_redirects=False).headers[
        "location"
    ]
    clock.now = datetime(2026, 3, 29, 6, tzinfo=UTC)
    refused = note(client, run, clock="02:30")
    assert refused.status_code == 422
    assert "the clock was set forward over this one" in refused.text
    note(client, run, clock="03:30")
    note(client, run, clock="01:30")
    assert client.get(f"/api{run}").json()["hours"] == pytest.approx([0, 1])


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
