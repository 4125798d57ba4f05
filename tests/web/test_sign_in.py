"""Who gets in, with what the door shows and keeps to itself."""

import zipfile

import pytest

from app.server.application import create_app
from app.services.access import auth
from app.services.exchange import records_archive
from app.settings import Settings
from tests.conftest import here
from tests.web.auth_client import CLUB, PASSPHRASE, away, sign_in, soup


def test_a_device_that_is_not_signed_in_is_led_to_the_sign_in_and_back(guarded):
    with away(guarded, follow_redirects=False) as client:
        asked = client.get("/batteries/new?name=x")
        assert asked.status_code == 303
        assert asked.headers["location"] == "/sign-in?back=%2Fbatteries%2Fnew%3Fname%3Dx"
        page = soup(client.get(asked.headers["location"]))
        back = page.select_one("input[name=back]")["value"]
        assert sign_in(client, back=back).headers["location"] == "/batteries/new?name=x"
        assert client.get(back).status_code == 200


def test_without_a_passphrase_nobody_signs_in(app):
    with away(app) as client:
        for answer in (sign_in(client, ""), client.get("/sign-in"), client.get("/")):
            assert answer.status_code == 403
            assert "Only shared links open from another device." in soup(answer).main.text


@pytest.mark.parametrize("given", ["", "x", PASSPHRASE + " ", PASSPHRASE.upper(), "x" * 10_000])
def test_a_wrong_passphrase_opens_nothing_and_is_not_shown(guarded, given):
    with away(guarded) as client:
        answer = sign_in(client, given)
        assert answer.status_code == 422
        assert not client.cookies
        assert len(given) < 2 or given not in answer.text
        assert client.get("/", follow_redirects=False).status_code == 303


@pytest.mark.data_file
def test_neither_passphrase_nor_session_can_be_read_from_the_data_file(phone, guarded):
    secret = phone.cookies["session"]
    with guarded.state.store.engine.connect() as connection:
        dump = "\n".join(connection.connection.driver_connection.iterdump())
    assert secret not in dump
    assert PASSPHRASE not in dump


def test_the_cookie_is_for_the_server_alone(guarded, club):
    with away(guarded) as client:
        plain = sign_in(client).headers["set-cookie"]
    assert plain.startswith("session=")
    assert "HttpOnly" in plain
    assert "SameSite=lax" in plain
    assert "Domain" not in plain
    with away(club, CLUB) as client:
        safe = sign_in(client).headers["set-cookie"]
        look = client.post("/look", data={"look": "dark"}, follow_redirects=False)
    # What the prefix asks of it: Secure, the whole path, no domain (RFC 6265bis).
    assert safe.startswith("__Host-session=")
    assert "Secure" in safe
    assert "Path=/;" in safe + ";"
    assert "Secure" in look.headers.get("set-cookie", "Secure")


def test_who_gets_in_stays_out_of_an_export(guarded, phone, tmp_path):
    file = tmp_path / "all.zip"
    records_archive.export_records(guarded.state.store, file)
    with zipfile.ZipFile(file) as archive:
        content = b"".join(archive.read(name) for name in archive.namelist())
    assert b"door_" not in content
    assert b"argon2" not in content


def test_an_archive_of_records_brings_no_passphrase(guarded, tmp_path, monkeypatch):
    forged = tmp_path / "forged.zip"
    monkeypatch.setattr(records_archive, "OF_THIS_MACHINE", ())
    records_archive.export_records(guarded.state.store, forged)
    monkeypatch.undo()
    with zipfile.ZipFile(forged) as archive:
        assert b"door_passphrase" in archive.read("tables/setting.csv")
    other = create_app(Settings(data_dir=tmp_path / "other"))
    records_archive.restore_records(other.state.store, forged)
    assert not auth.has_passphrase(other.state.store)
    other.state.store.engine.dispose()


def test_a_stranger_sends_no_more_than_a_sign_in_has(guarded):
    with away(guarded) as client:
        answer = sign_in(client, "x" * 30_000)
    assert answer.status_code == 413
    assert "A sign-in may send at most 20,000 bytes." in soup(answer).main.text


def test_the_demo_has_no_door(tmp_path):
    app = create_app(Settings(data_dir=tmp_path / "demo", demo=True, host="0.0.0.0"))
    with away(app) as client, here(app) as machine:
        assert client.get("/sign-in").status_code == 403
        assert machine.get("/door").status_code == 404
        assert machine.get("/").status_code == 200
    app.state.store.engine.dispose()


def test_the_page_of_the_door_says_whether_this_machine_signs_in_too(client, club, quick):
    assert "nobody signs in" in client.get("/door").text
    with away(club, CLUB) as device:
        sign_in(device)
        assert "also on the machine" in device.get("/door").text
