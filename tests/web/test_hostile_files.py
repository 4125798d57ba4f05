"""Files that claim to be something else, and paths that lead out of their folder."""

import pytest

from tests.web.conftest import soup

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app/main.py",
        "/static/..%2f..%2fapp%2fmain.py",
        "/static/%2e%2e/pyproject.toml",
        "/static//etc/passwd",
        "/static/..%5c..%5capp%5cmain.py",
        "/static/%00",
        "/files/..%2f1",
        "/photos/..%2f..%2f1.jpg",
        "/batteries/1?chart=../../pyproject.toml.svg",
    ],
)
def test_no_path_leads_out_of_its_folder(client, tested, path):
    answer = client.get(path)
    assert answer.status_code == 404
    assert "There is no" in answer.text
    assert "[build-system]" not in answer.text


@pytest.mark.parametrize("name", ["../fadeline.db", "/etc/passwd", "..", "x" * 20 + "/../x", "\0"])
def test_a_waiting_file_is_named_by_its_own_name_alone(client, battery, name):
    data = {"staged": name, "action": "store"}
    for path in (f"/batteries/{battery.id}/discharges", "/received", "/records/restore"):
        answer = client.post(path, data=data)
        assert answer.status_code == 422, path
        assert "root:" not in answer.text


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("page.html", b"<!doctype html><script>alert(1)</script>"),
        ("picture.svg", b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"),
        ("program.exe", b"MZ\x90\x00" + b"\0" * 500),
        ("archive.zip", b"PK\x03\x04" + b"\0" * 500),
        ("entity.xml", b"<!DOCTYPE x [<!ENTITY e SYSTEM 'file:///etc/passwd'>]><x>&e;</x>"),
    ],
)
def test_a_file_is_taken_for_what_it_holds_and_not_for_what_it_says(client, tested, name, data):
    for path, field in (
        (f"/batteries/{tested.id}/discharges", "file"),
        ("/discharges/1/photos", "photos"),
        ("/received", "file"),
        ("/records/restore", "file"),
    ):
        for kind in ("text/csv", "image/jpeg"):
            answer = client.post(path, data={"action": "check"}, files={field: (name, data, kind)})
            assert answer.status_code == 422, path
            assert "root:" not in answer.text


def test_a_kept_original_never_opens_in_a_browser(client, battery):
    data = b"time,current,<script>\n0:00,9,1\n1:00,9,1\n2:00,9,1\n"
    form = {
        "day": "2026-11-01",
        "start_time": "08:30",
        "charge_condition": "full_rested",
        "end_reason": "protection",
        "meter": "shunt",
    }
    url = f"/batteries/{battery.id}/discharges"
    files = {"file": ("page.html", data, "text/html")}
    page = soup(client.post(url, data=form | {"action": "check"}, files=files))
    waiting = {one["name"]: one.get("value", "") for one in page.select("form [name][type=hidden]")}
    client.post(url, data=form | waiting | {"action": "store"})
    headers = client.get("/files/1").headers
    assert headers["content-type"] == "application/octet-stream"
    assert headers["content-disposition"].startswith("attachment")
    assert headers["x-content-type-options"] == "nosniff"
