"""Who counts as the machine itself, with and without a reverse proxy, and what others may ask."""

import pytest
from fastapi.testclient import TestClient

from app.services.access import auth
from app.services.entities import batteries
from app.web.security.login_throttle import FREE
from tests.builders import NOW, battery_details
from tests.conftest import here
from tests.routes import asked_of_the_owner
from tests.web.auth_client import CLUB, away, set_up, sign_in, soup, token_on

FORWARDED = ("Forwarded", "Via", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-IP")


def status(client, path="/", **headers):
    return client.get(path, headers=headers, follow_redirects=False).status_code


@pytest.mark.parametrize("name", FORWARDED)
def test_what_came_through_a_proxy_is_never_the_machine_itself(app, client, name):
    assert status(client, **{name: "127.0.0.1"}) == 403
    set_up(app)
    assert status(client, **{name: "127.0.0.1"}) == 303


def test_a_proxy_that_says_nothing_and_speaks_the_old_protocol_is_seen(app, client):
    async def old(scope, receive, send):
        await app({**scope, "http_version": "1.0"}, receive, send)

    with TestClient(old, base_url="http://127.0.0.1", client=("127.0.0.1", 5000)) as proxied:
        assert status(proxied) == 403
    assert status(client) == 200


def test_a_stranger_who_claims_to_be_the_machine_is_none(app):
    with away(app) as stranger:
        for name in FORWARDED:
            assert status(stranger, **{name: "127.0.0.1"}) == 403
        assert status(stranger, Host="127.0.0.1:8765") == 403


def test_behind_a_proxy_the_machine_itself_signs_in(club):
    with away(club, CLUB, "127.0.0.1") as client:
        assert status(client) == 303
        assert sign_in(client).status_code == 303
        assert status(client) == 200


@pytest.mark.parametrize("name", ["127.0.0.1:8765", "localhost", "club.example:8765", "evil"])
def test_behind_a_proxy_only_its_name_is_answered(club, name):
    with away(club, CLUB, "127.0.0.1") as client:
        sign_in(client)
        assert status(client, Host=name) == 403
        assert client.post("/sign-in", data={}, headers={"Host": name}).status_code == 403


def test_behind_a_proxy_senders_are_told_apart_by_what_it_says(club):
    with away(club, CLUB, "127.0.0.1") as client:
        data = {"passphrase": "x"}
        made_up = {"X-Forwarded-For": "10.9.9.9, 10.0.0.1"}
        for number in range(FREE):
            headers = {"X-Forwarded-For": f"10.9.9.{number}, 10.0.0.1"}
            assert client.post("/sign-in", data=data, headers=headers).status_code == 422
        slowed = client.post("/sign-in", data=data, headers=made_up)
        assert slowed.status_code == 429
        assert "then try again" in slowed.text
        other = {"X-Forwarded-For": "10.0.0.2"}
        assert client.post("/sign-in", data=data, headers=other).status_code == 422


def test_without_a_proxy_what_is_said_of_a_sender_counts_for_nothing(guarded):
    with away(guarded) as client:
        for number in range(FREE):
            headers = {"X-Forwarded-For": f"10.0.0.{number}"}
            client.post("/sign-in", data={"passphrase": "x"}, headers=headers)
        answer = client.post("/sign-in", data={}, headers={"X-Forwarded-For": "10.0.1.1"})
        assert answer.status_code == 429
        assert "then try again" in answer.text


def test_behind_a_proxy_browsers_are_told_to_stay_with_https(club, client):
    with away(club, CLUB) as device:
        assert "max-age" in device.get("/sign-in").headers["strict-transport-security"]
    assert "strict-transport-security" not in client.get("/").headers


def test_a_link_that_is_shared_carries_the_public_address(club):
    with away(club, CLUB) as device:
        sign_in(device)
        battery = batteries.add_battery(club.state.store, battery_details())
        data = {"lasting": "30", "form_token": token_on(device)}
        page = soup(device.post(f"/batteries/{battery.id}/shares", data=data))
        assert page.select_one("#address code").text.startswith(f"{CLUB}/shared/")


def test_who_asks_the_machine_itself_is_told_the_public_address(club):
    with away(club, "http://127.0.0.1:8765") as device:
        assert f"Open {CLUB} instead." in device.get("/").text
    with away(club, "http://evil.example") as device:
        assert CLUB not in device.get("/").text


def test_a_name_that_points_here_gets_no_sign_in(guarded):
    async def rebound(scope, receive, send):
        # As the server would see it: its own address, the foreign name.
        await guarded({**scope, "server": ("192.168.1.7", 8765)}, receive, send)

    with away(rebound, "http://evil.example:8765") as client:
        assert sign_in(client).status_code == 403
        assert "does not answer to the name" in client.get("/").text


def test_every_page_and_every_form_of_the_owner_is_closed_to_who_is_not_signed_in(guarded):
    closed = 0
    with away(guarded) as stranger:
        for method, path in asked_of_the_owner(guarded, "/sign-in"):
            answer = stranger.request(method, path, follow_redirects=False)
            feed = (method, path) == ("POST", "/api/runs/1/readings")
            expected = (404, 413, 422) if feed else (303, 403)
            assert answer.status_code in expected, (method, path)
            if answer.status_code == 303:
                assert answer.headers["location"].startswith("/sign-in?")
            closed += 1
    assert closed > 60


def test_a_session_opens_nothing_under_a_foreign_name(phone):
    assert status(phone, Host="evil.example") == 403


def test_the_word_of_a_feed_opens_one_run_and_nothing_else(guarded, store):
    with here(guarded) as machine:
        form = {"charge_condition": "full_rested", "meter": "shunt"}
        runs = []
        for name in ("One", "Two"):
            battery = batteries.add_battery(store, battery_details(name=name))
            runs.append(machine.post(f"/batteries/{battery.id}/runs", data=form).url.path)
        word = soup(machine.post(f"{runs[0]}/feed")).select_one("[data-once] code").text
    with away(guarded, follow_redirects=False) as device:
        device.headers["Authorization"] = f"Bearer {word}"
        sent = {"readings": [{"at": NOW.isoformat(), "current_a": 9}]}
        own = device.post(f"/api{runs[0]}/readings", json=sent)
        other = device.post(f"/api{runs[1]}/readings", json=sent)
        assert own.json() == {"stored": 1, "known": 0}
        assert other.status_code == 404
        for path in (runs[0], f"/api{runs[0]}", f"/api{runs[0]}/state", "/"):
            assert device.get(path).status_code in (303, 403)
        device.cookies.set("session", word)
        assert device.get("/").status_code == 303
    assert auth.list_sessions(store, guarded.state.clock()) == []
