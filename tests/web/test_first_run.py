"""The first start: the way in three steps, and an example that stays apart and leaves no trace."""

from pathlib import Path
from urllib.parse import urlsplit
from zipfile import ZipFile

import pytest
from fastapi.testclient import TestClient

from app.services.entities import batteries
from app.services.exchange import records_archive
from tests.builders import NOW, battery_details
from tests.web.conftest import soup
from tests.web.typed import BATTERY


@pytest.fixture
def example(client):
    """The example, opened from an empty Fadeline."""
    assert client.post("/example", follow_redirects=False).headers["location"] == "/example/"
    return client


def folder_of(app) -> Path:
    return app.state.example._opened.application.state.settings.data_dir


def test_the_example_is_one_button_on_the_empty_first_page(client):
    form = soup(client.get("/")).select_one("form[action='/example']")
    assert form["method"] == "post"
    assert form.button.text == "Open the example"
    assert "Marmot" in client.post("/example").text


def test_with_a_battery_of_one_s_own_the_example_is_not_offered(client, battery):
    assert not soup(client.get("/")).select("form[action='/example']")


def test_the_help_leads_into_the_example_at_any_time(client, battery):
    assert soup(client.get("/help")).select_one("form[action='/example']").button
    assert "Marmot" in client.post("/example").text
    page = soup(client.get("/help"))
    assert not page.select("form[action='/example']")
    assert page.main.select_one(".actions a")["href"] == "/example/"


def test_every_page_of_the_example_says_that_it_is_invented(example):
    for path in ("/", "/batteries/1", "/discharges/1", "/meters", "/records", "/nothing"):
        banner = soup(example.get(f"/example{path}")).select_one(".demo")
        assert "invented" in banner.text, path
        assert banner.form["action"] == "/example/leave"


def test_no_link_of_the_example_leads_into_one_s_own_records(example):
    waiting, seen = ["/example/"], set()
    while waiting and len(seen) < 60:
        path = waiting.pop(0)
        seen.add(path)
        page = soup(example.get(path))
        for tag, name in (("a", "href"), ("form", "action"), ("link", "href"), ("script", "src")):
            for found in page.select(f"{tag}[{name}^='/']"):
                address = urlsplit(found[name]).path
                assert address.startswith("/example/"), (path, address)
                if tag == "a" and address not in seen and address not in waiting:
                    waiting.append(address)
    assert len(seen) > 40


def test_what_is_done_in_the_example_stays_in_it(example, store):
    own = batteries.add_battery(store, battery_details(name="My own"))
    answer = example.post("/example/batteries", data=BATTERY | {"name": "Invented too"})
    assert answer.url.path.startswith("/example/batteries/")
    assert "Invented too" in answer.text
    own_now = batteries.list_batteries(store, NOW.date()).shown
    assert [one.name for one in own_now] == ["My own"]
    assert example.get(f"/example/batteries/{own.id}").text.count("My own") == 0


def test_nothing_of_the_example_gets_into_an_export(example, store, tmp_path):
    records_archive.export_records(store, tmp_path / "own.zip")
    with ZipFile(tmp_path / "own.zip") as own:
        said = b"".join(own.read(name) for name in own.namelist())
    assert b"Marmot" not in said
    assert b"Marmot" in example.get("/example/batteries/1").content


def test_a_deletion_in_the_example_is_taken_back_in_the_example(example):
    page = soup(example.post("/example/bin/battery/1"))
    undo = page.select_one(".notice form")["action"]
    assert undo.startswith("/example/")
    assert example.post(undo).status_code == 200
    assert "Marmot galley bank" in example.get("/example/").text


def test_the_example_makes_no_backup_and_chooses_no_folder(example):
    for answer in (
        example.post("/example/records/backups"),
        example.post("/example/records/folder", data={"folder": "/tmp"}),
    ):
        assert answer.status_code == 422
        assert "the invented demo" in answer.text


def test_leaving_the_example_throws_its_folder_away(example, app):
    folder = folder_of(app)
    assert (folder / "fadeline.db").exists()
    back = example.post("/example/leave", follow_redirects=False)
    assert back.headers["location"] == "/"
    assert not folder.exists()
    assert example.get("/example/batteries/1").status_code == 404


def test_a_closed_example_answers_with_a_way_to_one_s_own_pages(client):
    answer = client.get("/example/batteries/1")
    assert answer.status_code == 404
    assert "The example is closed" in answer.text
    assert soup(answer).select_one("header .name")["href"] == "/"


def test_opening_it_twice_keeps_what_was_done_in_it(example):
    example.post("/example/bin/battery/1")
    assert "Marmot galley bank" not in soup(example.post("/example")).main.text


def test_another_example_is_fresh(example):
    example.post("/example/bin/battery/1")
    example.post("/example/leave")
    assert "Marmot galley bank" in soup(example.post("/example")).main.text


def test_the_open_example_is_named_on_the_own_first_page(example, store):
    assert "Back to the open example" in example.get("/").text
    batteries.add_battery(store, battery_details())
    assert "still open" in example.get("/").text


def test_no_other_device_opens_the_example(example, app):
    paths = ("/", "/shared/x", "/method", "/static/icon.svg", "/api/shared/x", "/leave")
    with TestClient(app, client=("192.168.1.20", 5000)) as stranger:
        for path in paths:
            answer = stranger.get(f"/example{path}")
            assert answer.status_code == 403, path
            assert "Only shared links open from another device." in answer.text
        answer = stranger.post("/example")
    assert answer.status_code == 403
    assert "Only shared links open from another device." in answer.text


def test_another_site_cannot_open_or_close_it(example, app):
    foreign = {"origin": "http://elsewhere.example"}
    assert example.post("/example/leave", headers=foreign).status_code == 403
    assert folder_of(app).exists()


def test_a_link_made_in_the_example_stays_in_it(example):
    page = soup(example.post("/example/batteries/1/shares"))
    address = (
        page.select_one("input[readonly], .link, code").get("value")
        or page.select_one(".link, code").text
    )
    assert "/example/shared/" in address
    assert "belongs to the example" in page.text
    assert "Marmot galley bank" in example.get(urlsplit(address).path).text


def test_a_running_test_in_the_example_asks_the_example(example):
    started = example.post(
        "/example/batteries/1/runs",
        data={"charge_condition": "full_rested", "meter": "shunt", "reading_every_min": "60"},
    )
    run = soup(started).select_one("[data-run]")
    assert run["data-run"].startswith("/example/api/runs/")
    assert example.get(run["data-run"]).json()["state"] == "running"
