"""Readings that a device sends into a running test."""

import json
from datetime import UTC, timedelta

import pytest
from fastapi.testclient import TestClient

from tests.builders import NOW
from tests.web.conftest import soup
from tests.web.running import START
from tests.web.test_counter_in_forms import stored


def sent(*hours, **more):
    return {
        "readings": [
            {"at": (START + timedelta(hours=h)).isoformat(), "current_a": 9.0} | more for h in hours
        ]
    }


@pytest.fixture
def word(client, run):
    return soup(client.post(f"{run}/feed")).select_one("[data-once] code").text


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
        assert feed(device, run, word, sent(0)).json() == {"stored": 1, "known": 0}
        assert feed(device, run, "guess", sent(1)).status_code == 404
        assert device.get("/api" + run).status_code == 403
        assert device.post(f"{run}/readings", data={"current_a": "9"}).status_code == 403
    assert client.get("/api" + run).json()["hours"] == [0.0], "what was refused is not stored"


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (sent(99), "time of the reading"),
        (sent(0, current_a=1e9), "current_a at"),
        (sent(0, gauge_percent=140), "from 0 to 100 %"),
        ({"readings": []}, "readings"),
        ({"readings": [{"at": "yesterday", "current_a": 9}]}, "at”: “yesterday”"),
        ({"readings": [{"at": "2026-11-25T08:00:00", "current_a": 9}]}, "timezone"),
        ({"readings": [{"current_a": 9}]}, "at"),
        ({}, "readings"),
        ([1, 2], "does not fit"),
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
    assert "current_a" in response.text
    assert client.get("/api" + run).json()["hours"] == []


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
    assert client.get(f"/api{run}/state").json() == {"state": "running", "readings": 0, "phones": 0}


def test_a_huge_body_is_turned_away_before_it_is_read(client, run):
    response = client.post(f"/api{run}/readings", content=b"x" * 2_000_001)
    assert response.status_code == 413
    assert "2,000,000 bytes" in response.text


def test_a_feed_may_send_a_counter(client, store, clock, run, word):
    clock.now = NOW
    for hour in range(4):
        assert feed(client, run, word, sent(hour, counted_ah=10.0 * hour)).json()["stored"] == 1
    refused = feed(client, run, word, sent(5, counted_ah=1e9))
    assert refused.status_code == 422
    assert "counted_ah" in refused.text
    client.post(f"{run}/end", data={"end_reason": "time"})
    assert stored(store)[0] == 30
