"""The data folder goes away, or cannot be written to any more, while the server runs."""

import os
import shutil
import sqlite3

import pytest

from app.services.entities import batteries
from app.storage.database.engine import data_file
from tests.web.conftest import soup
from tests.web.typed import BATTERY

pytestmark = pytest.mark.data_file
# Where the data are needed; a form that was typed comes back with the trouble instead (422).
PAGES = ("/", "/batteries/1", "/records", "/meters", "/shared/abcdefgh", "/batteries/1/edit")


@pytest.fixture
def file(app):
    return data_file(app.state.store.engine)


def add(client, name):
    return client.post("/batteries", data=BATTERY | {"name": name}, follow_redirects=False)


def gone(file):
    """The folder with all that is in it, taken away; returns what brings it back."""
    elsewhere = file.parent.with_name("elsewhere")
    file.parent.rename(elsewhere)
    return lambda: elsewhere.rename(file.parent)


def test_a_folder_that_is_gone_is_said_on_every_page(client, file):
    add(client, "Cabin")
    # What was sent before must not be sent again as if nothing had happened.
    assert {client.get(path).status_code for path in PAGES[:4]} == {200}
    gone(file)
    assert client.get("/health").status_code == 503
    for path in PAGES:
        answer = client.get(path)
        assert answer.status_code == 503, path
        assert "no longer in its place" in soup(answer).main.text
        assert "plug its drive in again" in soup(answer).main.text


def test_nothing_is_stored_into_a_file_that_is_gone(client, file):
    add(client, "Cabin")
    bring_back = gone(file)
    refused = add(client, "Lost")
    assert (refused.status_code, "no longer in its place" in refused.text) == (422, True)
    assert soup(refused).find(id="name")["value"] == "Lost"
    assert not file.parent.exists(), "an empty file must not be made in its place"
    bring_back()
    assert client.get("/health").status_code == 200
    assert add(client, "Kept").status_code == 303
    kept = sqlite3.connect(file)
    assert kept.execute("SELECT name FROM battery").fetchall() == [("Cabin",), ("Kept",)]
    kept.close()


def test_a_file_that_was_removed_and_copied_back_is_read_anew(client, file):
    add(client, "Cabin")
    copy = file.parent.with_name("copy")
    shutil.copytree(file.parent, copy)
    assert "Cabin" in client.get("/").text
    shutil.rmtree(file.parent)
    assert add(client, "Lost").status_code == 422
    copy.rename(file.parent)
    assert "Kept" not in client.get("/").text
    assert add(client, "Kept").status_code == 303
    assert "Kept" in client.get("/").text
    assert "Lost" not in client.get("/").text


def test_a_file_that_goes_while_it_is_written_to_takes_nothing(client, file, monkeypatch):
    add(client, "Cabin")
    added = batteries.batteries.add

    def add_and_go(*arguments):
        made = added(*arguments)
        monkeypatch.undo()
        bring_back.append(gone(file))
        return made

    bring_back = []
    monkeypatch.setattr(batteries.batteries, "add", add_and_go)
    assert add(client, "Half").status_code == 422
    bring_back.pop()()
    assert "Half" not in client.get("/").text
    assert add(client, "Whole").status_code == 303


@pytest.mark.parametrize(("path", "status"), [("/records/export", 503), ("/records/restore", 422)])
def test_what_waits_in_the_folder_is_refused_while_it_is_gone(client, file, path, status):
    gone(file)
    answer = client.post(path, files={"archive": ("a.zip", b"PK")}, data={"a": "b"})
    assert answer.status_code == status
    assert "The folder of the data cannot be used" in answer.text
    assert "Nothing was stored; check that it is still there" in answer.text
    # A page that has no form any more says how to send what was typed again.
    assert ("let the browser send the form again" in answer.text) is (status == 503)


def test_health_tells_of_a_file_that_cannot_be_written_to(client, file, monkeypatch):
    assert client.get("/health").json()["status"] == "ok"
    allowed = os.access
    monkeypatch.setattr(os, "access", lambda path, way: path != file and allowed(path, way))
    assert client.get("/health").status_code == 503
