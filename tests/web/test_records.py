"""The page about the records: their backups, the button, the folder."""

from dataclasses import replace
from datetime import timedelta

import pytest

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.services.backups import backups
from app.services.backups.backup_places import NOTE_NAME
from app.services.entities import batteries, runs
from app.services.exchange import records_archive
from app.storage.backup.backup_files import backups_in
from tests.archives import empty_store, exported
from tests.builders import NOW, battery_details
from tests.conftest import here
from tests.web.auth_client import CLUB, away, sign_in, token_on
from tests.web.conftest import soup


def words(response):
    return " ".join(soup(response).main.text.split())


def at(app, moment):
    app.state.clock = lambda: moment


@pytest.fixture
def stick(tmp_path):
    made = tmp_path / "stick"
    made.mkdir()
    return made


@pytest.mark.data_file
def test_the_page_is_linked_from_every_page_and_says_where_the_data_are(client, app):
    links = [a["href"] for a in soup(client.get("/")).select("header nav a")]
    assert "/records" in links
    text = words(client.get("/records"))
    assert str(app.state.settings.database) in text
    assert "There is no backup yet." in text


@pytest.mark.data_file
def test_the_button_makes_one_and_the_list_shows_its_size_and_age(client, app):
    response = client.post("/records/backups", follow_redirects=False)
    assert response.status_code == 303
    notice = soup(client.get(response.headers["location"])).select_one(".notice").text
    assert "Backed up: fadeline-2026-11-25T120000Z.db, " in notice
    assert " MB." in notice
    at(app, NOW + timedelta(days=3, hours=2))
    page = soup(client.get("/records"))
    assert page.select_one(".headline").text == "The last good backup is 3 days old."
    cells = [cell.text for cell in page.select("table tbody tr td")]
    assert cells[0] == "3 days old"
    assert cells[1].endswith(" MB")
    assert cells[3] == "fadeline-2026-11-25T120000Z.db"
    assert "1 files" not in page.text


@pytest.mark.data_file
def test_a_chosen_folder_is_kept_and_gets_one_at_once(client, stick):
    assert client.post("/records/folder", data={"folder": f"  {stick} "}).status_code == 200
    assert len(backups_in(stick)) == 1
    page = soup(client.get("/records"))
    assert page.select_one("input[name=folder]")["value"] == str(stick)


@pytest.mark.data_file
@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("backups", "It needs a whole path such as"),
        ("FILE", "It needs a folder; this is a file"),
        ("FILE/in", "It needs a folder that can be used (Not a directory)"),
        ("MISSING/two/deep", "It needs a folder that is there"),
        ("/" + "x" * 2000, "at most 1000 characters"),
        ("DATA", "It needs a folder outside"),
    ],
)
def test_a_folder_that_cannot_be_is_named_and_what_was_typed_stays(
    client, app, tmp_path, typed, said
):
    (tmp_path / "file").write_text("in the way")
    places = {
        "FILE": tmp_path / "file",
        "MISSING": tmp_path / "missing",
        "DATA": app.state.settings.data_dir,
    }
    for name, path in places.items():
        typed = typed.replace(name, str(path))
    response = client.post("/records/folder", data={"folder": typed})
    assert response.status_code == 422
    page = soup(response)
    assert page.select_one("input[name=folder]")["value"] == typed
    assert said in page.select_one("#problem-folder").text
    assert backups.show_backups(app.state.store.engine).chosen is None
    assert (tmp_path / "file").read_text() == "in the way"


@pytest.mark.data_file
def test_an_unplugged_stick_is_said_with_where_it_went_instead(client, app, stick, tested):
    client.post("/records/folder", data={"folder": str(stick)})
    stick.rename(stick.with_name("unplugged"))
    assert "trouble" not in words(client.get("/"))
    assert "Until it can be used again, backups go to" in words(client.get("/records"))
    client.post("/records/backups")
    text = words(client.get("/records"))
    assert "The last backup had a problem, less than an hour ago:" in text
    assert text.count("Was its disk unplugged?") == 1
    assert f"went to {app.state.settings.data_dir / 'backups'} instead" in text
    assert "The last backup had a problem. See Records" in words(client.get("/"))


@pytest.mark.data_file
def test_one_that_fails_is_said_and_the_last_good_one_still_stands(client, app, tested):
    client.post("/records/backups")
    folder = app.state.settings.data_dir / "backups"
    folder.rename(folder.with_name("kept"))
    folder.write_text("in the way")
    at(app, NOW + timedelta(hours=5))
    response = client.post("/records/backups")
    assert response.status_code == 422
    assert "cannot be made" in words(response)
    assert "The last backup failed, less than an hour ago" in words(response)


@pytest.mark.data_file
def test_the_list_says_quietly_when_the_last_is_old(client, app, tested):
    note = "The last good backup is 8 days old. See Records"
    assert "There is no backup yet. See Records" in words(client.get("/"))
    client.post("/records/backups")
    assert "backup" not in words(client.get("/"))
    at(app, NOW + timedelta(days=8))
    assert note in words(client.get("/"))
    client.post("/records/backups")
    assert "backup" not in words(client.get("/"))


def test_an_empty_start_is_not_bothered_with_backups(client):
    assert "backup" not in words(client.get("/"))


@pytest.mark.data_file
def test_a_file_that_was_cut_short_is_called_that(client, app):
    client.post("/records/backups")
    (made,) = backups_in(app.state.settings.data_dir / "backups")
    made.path.write_bytes(made.path.read_bytes()[:3000])
    assert "cut short, cannot be used" in words(client.get("/records"))


def test_the_demo_makes_none(client, app, stick, tested):
    app.state.settings = replace(app.state.settings, demo=True)
    assert "The demo makes no backups." in words(client.get("/records"))
    assert client.post("/records/backups").status_code == 422
    assert client.post("/records/folder", data={"folder": str(stick)}).status_code == 422
    assert list(stick.iterdir()) == []
    assert not (app.state.settings.data_dir / "backups").exists()
    assert "backup" not in words(client.get("/"))


def test_another_site_and_another_device_can_neither_look_nor_write(client, app, stick):
    from fastapi.testclient import TestClient

    away = TestClient(app, base_url="http://192.0.2.7", client=("192.0.2.9", 5000))
    assert away.get("/records").status_code == 403
    assert away.post("/records/folder", data={"folder": str(stick)}).status_code == 403
    with here(app) as made:
        sent = made.post(
            "/records/folder",
            data={"folder": str(stick)},
            headers={"Origin": "http://elsewhere.example"},
        )
    assert sent.status_code == 403
    assert not (stick / NOTE_NAME).exists()


def test_a_running_test_that_comes_in_given_up_is_said(client, app, tmp_path):
    other = empty_store(tmp_path / "other")
    batteries.add_battery(other, battery_details())
    exported(other, tmp_path / "a.zip")
    records_archive.restore_records(app.state.store, tmp_path / "a.zip")
    for store in (app.state.store, other):
        run = RunDetails(NOW, 0, ChargeCondition.FULL, 0)
        runs.start_run(store, 1, run, MeterKind.SHUNT, NOW)
    data = exported(other, tmp_path / "b.zip")
    other.engine.dispose()
    answer = client.post("/records/restore", files={"archive": ("b.zip", data)})
    assert "Changed on import" in words(answer)
    assert "as one that was given up" in words(answer)


def test_to_restore_an_archive_is_all_that_its_page_offers(client):
    page = soup(client.get("/records/restore")).main
    (button,) = page.select("form button")
    assert (button.text, button.get("class")) == ("Check the file", None)
    assert not page.select("details, h2")
    # Where it is one of several, it waits folded.
    folded = soup(client.get("/records")).select_one("details:has(#archive)")
    assert folded.get("open") is None
    assert folded.button["class"] == ["quiet"]


def test_an_archive_that_is_here_already_offers_no_restore_but_the_way_back(client, app, tmp_path):
    batteries.add_battery(app.state.store, battery_details())
    data = exported(app.state.store, tmp_path / "a.zip")
    page = soup(client.post("/records/restore", files={"archive": ("a.zip", data)}))
    assert "Everything in this archive is here already." in page.select_one(".headline").text
    assert not page.select("#merge, main form")
    assert [a["href"] for a in page.select("main .actions a")] == ["/records", "/records/restore"]


@pytest.mark.data_file
def test_behind_a_public_address_nobody_chooses_a_folder_of_the_machine(club, tmp_path):
    with away(club, CLUB) as device:
        sign_in(device)
        shown = device.get("/records")
        assert soup(shown).select("input[name=folder]") == []
        assert "On the machine itself, run fadeline serve --port 8799" in words(shown)
        form = {"folder": str(tmp_path), "form_token": token_on(device)}
        answer = device.post("/records/folder", data=form)
    assert answer.status_code == 422
    assert "It needs a folder chosen on the machine itself" in answer.text
    assert backups.show_backups(club.state.store.engine).chosen is None
    assert not (tmp_path / "about-fadeline-backups.txt").exists()
