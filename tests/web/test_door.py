"""Who gets in: the sign-in, sessions and their ends, the passphrase."""

import zipfile
from datetime import timedelta

import pytest

from app.domain.door import ABSOLUTE, IDLE
from app.main import create_app
from app.services import door, records
from app.settings import Settings
from app.web.attempts import FREE, LONGEST_WAIT, TOGETHER, TOGETHER_WITHIN
from tests.builders import NOW
from tests.conftest import here
from tests.web.doors import CLUB, PASSPHRASE, away, set_up, sign_in, soup, token_on

OTHER = "seven drifting copper lamps"


def at(app, later):
    app.state.clock = lambda: NOW + later


def text_of_settings(app):
    with app.state.store.engine.connect() as connection:
        return str(connection.exec_driver_sql("SELECT name, value FROM setting").all())


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
        assert sign_in(client, "").status_code == 403
        assert client.get("/sign-in").status_code == 403
        assert client.get("/").status_code == 403


@pytest.mark.parametrize("given", ["", "x", PASSPHRASE + " ", PASSPHRASE.upper(), "x" * 10_000])
def test_a_wrong_passphrase_opens_nothing_and_is_not_shown(guarded, given):
    with away(guarded) as client:
        answer = sign_in(client, given)
        assert answer.status_code == 422
        assert not client.cookies
        assert len(given) < 2 or given not in answer.text
        assert client.get("/", follow_redirects=False).status_code == 303


def test_a_letter_that_is_written_in_two_ways_is_the_same(app, quick):
    set_up(app, "caf\u00e9 and more words")
    with away(app) as client:
        assert sign_in(client, "cafe\u0301 and more words").status_code == 303


def test_the_passphrase_is_hashed_as_rfc_9106_recommends_for_little_memory(app):
    set_up(app)
    # Its second recommendation: t=3, m=64 MiB (2^16 KiB), p=4.
    assert "$argon2id$v=19$m=65536,t=3,p=4$" in text_of_settings(app)
    assert door.is_passphrase(app.state.store, PASSPHRASE)
    assert not door.is_passphrase(app.state.store, OTHER)


def test_a_hash_of_former_parameters_is_made_anew_when_it_is_used(guarded, monkeypatch):
    monkeypatch.undo()
    before = text_of_settings(guarded)
    assert door.is_passphrase(guarded.state.store, PASSPHRASE)
    assert text_of_settings(guarded) != before
    assert "m=65536" in text_of_settings(guarded)


@pytest.mark.data_file
def test_neither_passphrase_nor_session_can_be_read_from_the_data_file(phone, guarded):
    secret = phone.cookies["session"]
    with guarded.state.store.engine.connect() as connection:
        dump = "\n".join(connection.connection.driver_connection.iterdump())
    assert secret not in dump
    assert PASSPHRASE not in dump


@pytest.mark.parametrize("kind", ["shape", "fold", "forged"])
def test_a_made_up_session_opens_nothing(phone, kind):
    secret = phone.cookies["session"]
    made_up = {"shape": "x" * 43, "fold": secret.swapcase(), "forged": door.digest_of(secret)}[kind]
    phone.cookies.clear()
    phone.cookies.set("session", made_up)
    assert phone.get("/", follow_redirects=False).status_code == 303


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


def test_a_session_ends_when_it_is_not_used(phone, guarded):
    at(guarded, IDLE - timedelta(minutes=1))
    assert phone.get("/bin").status_code == 200
    at(guarded, 2 * IDLE - timedelta(minutes=2))
    assert phone.get("/bin", follow_redirects=False).status_code == 200
    at(guarded, 3 * IDLE)
    assert phone.get("/bin", follow_redirects=False).status_code == 303


def test_a_page_that_asks_by_itself_does_not_keep_its_session_open(phone, guarded):
    for hours in range(6, 24, 6):
        at(guarded, timedelta(hours=hours))
        assert phone.get("/api/batteries").status_code == 200
    at(guarded, IDLE)
    assert phone.get("/api/batteries").status_code == 403


def test_a_session_ends_however_much_it_is_used(phone, guarded):
    for days in range(ABSOLUTE.days):
        at(guarded, timedelta(days=days) - timedelta(minutes=days))
        assert phone.get("/bin", follow_redirects=False).status_code == 200
    at(guarded, ABSOLUTE)
    assert phone.get("/bin", follow_redirects=False).status_code == 303


def test_signing_out_ends_this_session_alone(phone, guarded):
    with away(guarded) as tablet:
        sign_in(tablet)
        kept = phone.cookies["session"]
        answer = phone.post("/sign-out", data={"form_token": token_on(phone)})
        assert answer.url.path == "/sign-in"
        assert "session" not in phone.cookies
        phone.cookies.set("session", kept)
        assert phone.get("/", follow_redirects=False).status_code == 303
        assert tablet.get("/", follow_redirects=False).status_code == 200


def test_all_sessions_are_ended_from_any_device_and_from_the_machine(phone, guarded):
    with away(guarded) as tablet, here(guarded) as machine:
        sign_in(tablet)
        assert len(soup(machine.get("/door")).select("tbody tr")) == 2
        phone.post("/door/end", data={"form_token": token_on(phone)})
        for device in (phone, tablet):
            assert device.get("/", follow_redirects=False).status_code == 303
        sign_in(tablet)
        machine.post("/door/end")
        assert tablet.get("/", follow_redirects=False).status_code == 303


def test_a_new_passphrase_ends_every_session_but_goes_on_where_it_was_set(phone, guarded):
    with away(guarded) as tablet:
        sign_in(tablet)
        before = phone.cookies["session"]
        data = {"current": PASSPHRASE, "passphrase": OTHER, "again": OTHER}
        answer = phone.post("/door/passphrase", data=data | {"form_token": token_on(phone)})
        assert answer.status_code == 200
        assert phone.cookies["session"] != before
        assert tablet.get("/", follow_redirects=False).status_code == 303
        assert sign_in(tablet).status_code == 422
        assert sign_in(tablet, OTHER).status_code == 303


def test_a_device_that_is_signed_in_needs_the_passphrase_to_change_it(phone, guarded):
    data = {"passphrase": OTHER, "again": OTHER, "form_token": token_on(phone)}
    for current in ({}, {"current": OTHER}):
        assert phone.post("/door/passphrase", data=data | current).status_code == 422
    assert door.is_passphrase(guarded.state.store, PASSPHRASE)


def test_the_first_passphrase_is_set_at_the_machine_itself(app, client, quick):
    answer = client.post("/door/passphrase", data={"passphrase": OTHER, "again": OTHER})
    assert answer.status_code == 200
    assert "set-cookie" not in answer.headers
    with away(app) as device:
        assert sign_in(device, OTHER).status_code == 303


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("x" * 14, "14 characters"),
        ("x" * 201, "201 characters"),
        ("ababababababababab", "2 different ones"),
    ],
)
def test_a_weak_passphrase_is_refused_without_being_repeated(client, quick, given, said):
    answer = client.post("/door/passphrase", data={"passphrase": given, "again": given})
    assert answer.status_code == 422
    assert said in answer.text
    assert given not in answer.text


def test_a_passphrase_typed_in_two_ways_is_not_set(app, client, quick):
    answer = client.post("/door/passphrase", data={"passphrase": OTHER, "again": PASSPHRASE})
    assert answer.status_code == 422
    assert not door.has_passphrase(app.state.store)


def test_every_sign_in_gets_a_new_session_and_ends_the_one_before(phone):
    before = phone.cookies["session"]
    sign_in(phone)
    after = phone.cookies["session"]
    assert after != before
    phone.cookies.clear()
    phone.cookies.set("session", before)
    assert phone.get("/", follow_redirects=False).status_code == 303


def test_more_devices_than_one_person_has_make_the_oldest_sign_in_anew(phone, guarded):
    for minutes in range(door.MOST_SESSIONS):
        at(guarded, timedelta(minutes=minutes))
        with away(guarded) as device:
            sign_in(device)
    assert len(door.list_sessions(guarded.state.store, NOW)) == door.MOST_SESSIONS
    assert phone.get("/", follow_redirects=False).status_code == 303


def test_after_a_few_wrong_attempts_a_device_has_to_wait_and_then_gets_in(guarded):
    with away(guarded) as client:
        for _ in range(FREE):
            assert sign_in(client, "x").status_code == 422
        slowed = sign_in(client)
        assert slowed.status_code == 429
        assert slowed.headers["retry-after"] == "5"
        assert "5 s" in slowed.text
        at(guarded, timedelta(seconds=6))
        assert sign_in(client, "x").status_code == 422
        assert sign_in(client).headers["retry-after"] == "10"
        at(guarded, timedelta(seconds=17))
        assert sign_in(client).status_code == 303


def test_another_device_and_the_machine_itself_do_not_wait_with_it(guarded):
    with away(guarded) as client:
        for _ in range(FREE + 1):
            sign_in(client, "x")
    with away(guarded, sender="192.168.1.21") as other, here(guarded) as machine:
        assert sign_in(other).status_code == 303
        assert machine.get("/").status_code == 200


def test_nobody_has_to_wait_longer_than_the_longest_wait(guarded):
    for hours in range(20):
        at(guarded, timedelta(hours=hours))
        with away(guarded) as client:
            sign_in(client, "x")
    at(guarded, timedelta(hours=19) + LONGEST_WAIT)
    with away(guarded) as client:
        assert sign_in(client).status_code == 303


def test_many_senders_together_are_slowed(guarded):
    for number in range(TOGETHER):
        with away(guarded, sender=f"10.0.{number}.1") as client:
            assert sign_in(client, "x").status_code == 422
    with away(guarded, sender="10.1.0.1") as client:
        assert sign_in(client).status_code == 429
        at(guarded, TOGETHER_WITHIN)
        assert sign_in(client).status_code == 303


def test_senders_of_one_ipv6_network_are_one(guarded):
    for number in range(FREE):
        with away(guarded, sender=f"2001:db8:1:2::{number}") as client:
            sign_in(client, "x")
    with away(guarded, sender="2001:db8:1:2:ffff::1") as client:
        assert sign_in(client).status_code == 429


def test_what_was_typed_when_the_session_ended_is_not_stored_and_not_lost(phone, guarded):
    door.end_all_sessions(guarded.state.store)
    answer = phone.post("/batteries", data={"name": "Typed"})
    assert answer.status_code == 403
    assert "still stands in the form" in answer.text
    assert soup(answer).select_one("main a")["href"] == "/sign-in"


def test_who_gets_in_stays_out_of_an_export(guarded, phone, tmp_path):
    file = tmp_path / "all.zip"
    records.export_records(guarded.state.store, file)
    with zipfile.ZipFile(file) as archive:
        content = b"".join(archive.read(name) for name in archive.namelist())
    assert b"door_" not in content
    assert b"argon2" not in content


def test_an_archive_of_records_brings_no_passphrase(guarded, tmp_path, monkeypatch):
    forged = tmp_path / "forged.zip"
    monkeypatch.setattr(records, "OF_THIS_MACHINE", ())
    records.export_records(guarded.state.store, forged)
    monkeypatch.undo()
    with zipfile.ZipFile(forged) as archive:
        assert b"door_passphrase" in archive.read("tables/setting.csv")
    other = create_app(Settings(data_dir=tmp_path / "other"))
    records.restore_records(other.state.store, forged)
    assert not door.has_passphrase(other.state.store)
    other.state.store.engine.dispose()


def test_a_stranger_sends_no_more_than_a_sign_in_has(guarded):
    with away(guarded) as client:
        assert sign_in(client, "x" * 30_000).status_code == 413


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
