import re

import pytest
from fastapi.testclient import TestClient

from tests.builders import battery_details
from tests.conftest import here
from tests.web.auth_client import soup


def test_every_response_carries_the_headers(client, tested):
    for path in ("/", f"/batteries/{tested.id}", "/api/batteries", "/no", "/static/frame.css"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"].split("; ")
        assert {"script-src 'self'", "connect-src 'self'"} <= set(policy)
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"
        assert headers["referrer-policy"] in ("same-origin", "no-referrer")
        assert headers["cross-origin-opener-policy"] == "same-origin"
        assert headers["cross-origin-resource-policy"] == "same-origin"
        assert "camera=()" in headers["permissions-policy"]
        assert "no-" in headers["cache-control"] or path.startswith("/static/")


def test_a_form_on_another_site_changes_nothing(client, battery):
    for origin in ("http://elsewhere.example", "null"):
        response = client.post("/bin/battery/1", headers={"Origin": origin})
        assert response.status_code == 403
        assert "came from another site. Nothing was changed." in response.text
    assert client.get("/batteries/1").status_code == 200
    assert client.post("/bin/battery/1", headers={"Origin": "http://127.0.0.1"}).status_code == 200


def test_a_stranger_on_the_network_sees_shared_links_only(app, client, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"lasting": "30"})
    (share,) = app.state.store.engine.connect().exec_driver_sql("SELECT token FROM share").one()
    with TestClient(app, client=("192.168.1.20", 5000)) as stranger:
        assert stranger.get(f"/shared/{share}").status_code == 200
        assert stranger.get("/static/frame.css").status_code == 200
        paths = ("/", f"/batteries/{tested.id}", "/api/batteries", "/openapi.json", "/bin")
        answers = [stranger.get(path) for path in paths]
        answers.append(stranger.post("/batteries", data={"name": "x"}))
        for answer in answers:
            assert answer.status_code == 403
            assert "Only shared links open from another device." in answer.text
            assert "Bench battery" not in answer.text


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "\"'><img src=x onerror=a>"])
def test_what_is_typed_never_becomes_markup(client, text):
    from app.services.entities import batteries

    batteries.add_battery(client.app.state.store, battery_details(name=text, notes=text))
    for path in ("/", "/batteries/1", "/batteries/1/edit", "/batteries/1/discharges/new"):
        assert "<script>alert" not in client.get(path).text
        assert "<img src=x" not in client.get(path).text


def test_an_unexpected_fault_shows_a_reference_and_no_inside(app, caplog):
    @app.get("/fault")
    def fault():
        raise RuntimeError("the inside")

    with here(app) as client:
        response = client.get("/fault")
        other = client.get("/fault")
    (reference,) = re.findall(r"under the reference ([0-9a-f]{8})\.", response.text)
    assert reference not in other.text
    assert any(reference in one.message and one.exc_info for one in caplog.records)
    assert "script-src 'self'" in response.headers["content-security-policy"]
    assert response.status_code == 500
    assert "the inside" not in response.text
    assert "Something in Fadeline went wrong" in response.text


@pytest.mark.parametrize("name", ["evil.example", "evil.example:8765", "127.0.0.1.evil.example"])
def test_a_foreign_name_that_points_here_reaches_nothing_of_the_owner_s(client, tested, name):
    for path in ("/", "/api/batteries", f"/batteries/{tested.id}"):
        answer = client.get(path, headers={"Host": name})
        assert answer.status_code == 403
        assert f"does not answer to the name “{name}”" in answer.text
        assert "Bench battery" not in answer.text
    response = client.post("/bin/battery/1", headers={"Host": name, "Origin": f"http://{name}"})
    assert response.status_code == 403
    assert client.get("/batteries/1").status_code == 200


@pytest.mark.parametrize("name", ["localhost", "127.0.0.1:8765", "[::1]:8765"])
def test_the_names_of_this_machine_are_answered(client, name):
    assert client.get("/", headers={"Host": name}).status_code == 200


def test_the_machine_reaches_itself_by_its_own_address(app, client):
    own = ("192.168.1.7", 5000)
    with TestClient(app, base_url="http://192.168.1.7:8765", client=own) as made:
        assert made.get("/").status_code == 200


@pytest.mark.parametrize("number", [10**30, 2**63, 0, -1])
def test_a_number_that_no_database_holds_is_not_found(client, number):
    for path in ("/batteries/{}", "/discharges/{}", "/api/batteries/{}", "/batteries/{}/edit"):
        answer = client.get(path.format(number))
        assert answer.status_code == 404
        assert "Nothing here" in answer.text
    for path in ("/bin/battery/{}", "/shares/{}/revoke", "/discharges/{}"):
        assert client.post(path.format(number)).status_code == 404


def test_asking_for_the_head_alone_gets_no_body(client):
    response = client.head("/")
    assert response.status_code == 200
    assert response.content == b""


def test_a_body_of_two_gigabytes_is_turned_away_before_it_is_read(client, battery):
    def endless():
        raise AssertionError("the body was read")
        yield b""

    headers = {"Content-Length": "2000000000"}
    url = f"/batteries/{battery.id}/discharges"
    response = client.post(url, content=endless(), headers=headers)
    assert response.status_code == 413
    assert "2000 MB" in soup(response).text
    assert "at most 64 MB" in soup(response).text


def test_a_body_of_unknown_length_is_turned_away(client, battery):
    url = f"/batteries/{battery.id}/discharges"
    response = client.post(url, content=iter([b"a=1"]))
    assert response.status_code == 413
    assert "did not state its size" in response.text
