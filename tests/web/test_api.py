import math

import pytest


def numbers(value):
    if isinstance(value, dict):
        for part in value.values():
            yield from numbers(part)
    elif isinstance(value, list):
        for part in value:
            yield from numbers(part)
    elif isinstance(value, float):
        yield value


def test_the_twins_show_what_the_pages_show(client, tested):
    one = client.get(f"/api/batteries/{tested.id}").json()
    assert client.get("/api/batteries").json() == [one]
    assert one["fade"]["rate_percent_per_year"] == pytest.approx(4.5, abs=0.1)
    page = client.get(f"/batteries/{tested.id}").text
    assert f"({one['fade']['rate_percent_per_year']:.1f} % of rated)" in page


def test_no_report_holds_infinity_or_nan(client, tested):
    for path in ("/api/batteries", "/api/discharges/1"):
        assert all(math.isfinite(n) for n in numbers(client.get(path).json()))


def test_private_fields_stay_out_of_the_json_of_a_battery_report(client, tested):
    assert "SECRET" not in client.get(f"/api/batteries/{tested.id}").text


def test_errors_are_json_below_api(client):
    response = client.get("/api/batteries/99")
    assert response.status_code == 404
    assert response.json()["error"] == "Nothing here"


def test_the_interface_is_described_and_its_pages_from_elsewhere_are_off(client):
    paths = client.get("/openapi.json").json()["paths"]
    assert set(paths) == {
        "/api/batteries",
        "/api/batteries/{battery_id}",
        "/api/batteries/{battery_id}/heat",
        "/api/batteries/{battery_id}/road",
        "/api/batteries/{battery_id}/warranty",
        "/api/comparison",
        "/api/discharges/{discharge_id}",
        "/api/runs/{run_id}",
        "/api/runs/{run_id}/state",
        "/api/runs/{run_id}/readings",
        "/api/shared/{token}",
    }
    assert client.get("/docs").status_code == 404
    assert client.get("/redoc").status_code == 404
