"""The usual attacks on what is typed, uploaded and asked for; see SECURITY.md."""

import pytest
from sqlalchemy import event
from starlette.websockets import WebSocketDisconnect

from app.services.access import shares
from app.services.entities import batteries
from tests.builders import battery_details
from tests.web.auth_client import away, sign_in
from tests.web.conftest import soup

INJECTED = "'); DROP TABLE battery; --"
# Addresses that lead out of this server, as browsers read them (WHATWG URL).
ELSEWHERE = [
    "https://evil.example",
    "//evil.example",
    "/\\evil.example",
    "\\/evil.example",
    "/\t/evil.example",
    "/\n/evil.example",
    "\x01//evil.example",
    "javascript:alert(1)",
    "evil.example",
    "",
]


def test_the_policy_lets_no_script_run_but_the_program_s_own(client, tested):
    policy = client.get(f"/batteries/{tested.id}").headers["content-security-policy"]
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == "'self'"
    for name in ("base-uri", "frame-ancestors"):
        assert rules[name] == "'none'"
    assert rules["form-action"] == "'self'"


def test_nothing_that_is_typed_reaches_the_database_as_a_statement(client, store, tested):
    details = battery_details(name=INJECTED, notes=INJECTED)
    made = batteries.add_battery(store, details)
    assert batteries.get_battery(store, made.id).details == details
    for path in (
        "/api/batteries/1%20OR%201=1",
        f"/shared/{INJECTED}",
        f"/history/battery{INJECTED}/1",
        f"/bin/battery{INJECTED}/1/remove",
        f"/comparison?battery=1{INJECTED}",
        f"/batteries/1?chart={INJECTED}.svg",
        f"/batteries/1?done=bin.battery{INJECTED}.1",
    ):
        assert client.get(path).status_code in (200, 404, 422), path
    assert client.get(f"/batteries/{tested.id}").status_code == 200


@pytest.mark.parametrize("target", ELSEWHERE)
def test_no_form_sends_a_browser_to_another_server(client, guarded, target):
    look = client.post("/look", data={"look": "dark", "back": target}, follow_redirects=False)
    with away(guarded) as device:
        signed = sign_in(device, back=target)
        shown = soup(device.get("/sign-in", params={"back": target}))
    for answer in (look, signed):
        assert answer.headers["location"] == "/"
    assert shown.select_one("input[name=back]")["value"] == "/"


def test_no_answer_sends_a_browser_to_the_host_that_a_request_names(client, tested):
    for path in ("/meters/", "/shared/x/", "/static", "/example"):
        answer = client.get(path, headers={"Host": "localhost"}, follow_redirects=False)
        assert answer.status_code in (404, 405), path
        assert "location" not in answer.headers


def test_the_secret_of_a_link_is_compared_by_its_hash_alone(client, store, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"lasting": "30"})
    token = shares.get_share(store, 1).token
    asked = []

    @event.listens_for(store.engine, "before_cursor_execute")
    def _note(_connection, _cursor, statement, parameters, *_):
        asked.append(f"{statement} {parameters}")

    assert client.get(f"/shared/{token}").status_code == 200
    assert client.get(f"/shared/{token[:-1]}").status_code == 404
    assert any("token_hash" in one for one in asked)
    assert [one for one in asked if token[:-1] in one] == []


def test_no_answer_about_a_link_is_kept_or_tells_where_it_came_from(client, store, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"lasting": "30"})
    token = shares.get_share(store, 1).token
    for path in ("/shared/{}", "/shared/{}x", "/shared/{}?chart=fade.svg", "/api/shared/{}"):
        headers = client.get(path.format(token)).headers
        assert headers["referrer-policy"] == "no-referrer", path
        assert headers["cache-control"] == "no-store", path
        assert headers["x-robots-tag"] == "noindex, nofollow", path


@pytest.mark.parametrize(
    "body",
    [
        "[" * 100_000,
        '{"a":' * 100_000,
        '{"readings": ' + "[" * 50_000 + "]" * 50_000 + "}",
        '{"readings": [{"at": "2026-11-25T10:00:00Z", "current_a": 1e999}]}',
        '{"readings": [{"at": "2026-11-25T10:00:00Z", "current_a": NaN}]}',
        '{"readings": [{"at": 1e400, "current_a": 9}]}',
        "\x1f\x8b\x08\x00",
    ],
    ids=["list", "object", "inside", "infinite", "nan", "moment", "packed"],
)
def test_odd_json_is_refused_and_breaks_nothing(client, battery, body):
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    run = client.post(f"/batteries/{battery.id}/runs", data=form).url.path
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    answer = client.post(f"/api{run}/readings", content=body.encode(), headers=headers)
    assert answer.status_code in (400, 404, 422)
    assert len(answer.content) < 10_000
    assert client.get(run).status_code == 200


@pytest.mark.parametrize("method", ["TRACE", "PUT", "DELETE", "PATCH", "CONNECT", "NONSENSE"])
def test_methods_that_no_page_has_are_refused(client, tested, method):
    assert client.request(method, f"/batteries/{tested.id}").status_code == 405
    assert client.get(f"/batteries/{tested.id}").status_code == 200


def test_a_connection_of_another_kind_is_closed(client):
    with pytest.raises(WebSocketDisconnect), client.websocket_connect("/shared/x"):
        pass
