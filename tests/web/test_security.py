import pytest
from fastapi.testclient import TestClient

from tests.builders import battery_details


def test_every_response_carries_the_headers(client, tested):
    for path in ("/", f"/batteries/{tested.id}", "/api/batteries", "/no", "/static/fadeline.css"):
        headers = client.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["x-frame-options"] == "DENY"


def test_a_form_on_another_site_changes_nothing(client, battery):
    for origin in ("http://elsewhere.example", "null"):
        response = client.post("/bin/battery/1", headers={"Origin": origin})
        assert response.status_code == 403
    assert client.get("/batteries/1").status_code == 200
    assert client.post("/bin/battery/1", headers={"Origin": "http://testserver"}).status_code == 200


def test_a_stranger_on_the_network_sees_shared_links_only(app, client, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"lasting": "30"})
    (share,) = app.state.store.engine.connect().exec_driver_sql("SELECT token FROM share").one()
    with TestClient(app, client=("192.168.1.20", 5000)) as stranger:
        assert stranger.get(f"/shared/{share}").status_code == 200
        assert stranger.get("/static/fadeline.css").status_code == 200
        for path in ("/", f"/batteries/{tested.id}", "/api/batteries", "/openapi.json", "/bin"):
            assert stranger.get(path).status_code == 403
        assert stranger.post("/batteries", data={"name": "x"}).status_code == 403


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "\"'><img src=x onerror=a>"])
def test_what_is_typed_never_becomes_markup(client, text):
    from app.services import batteries

    batteries.add_battery(client.app.state.store, battery_details(name=text, notes=text))
    for path in ("/", "/batteries/1", "/batteries/1/edit", "/batteries/1/discharges/new"):
        assert "<script>alert" not in client.get(path).text
        assert "<img src=x" not in client.get(path).text


def test_an_unexpected_fault_shows_no_inside(app):
    @app.get("/fault")
    def fault():
        raise RuntimeError("the inside")

    with TestClient(app, raise_server_exceptions=False) as client:
        response = client.get("/fault")
    assert response.status_code == 500
    assert "the inside" not in response.text
    assert "fault of Fadeline" in response.text
