"""The passphrase: how it is kept, set and changed."""

import pytest

from app.services.access import auth
from tests.web.auth_client import OTHER, PASSPHRASE, away, set_up, sign_in, token_on


def text_of_settings(app):
    with app.state.store.engine.connect() as connection:
        return str(connection.exec_driver_sql("SELECT name, value FROM setting").all())


def test_a_letter_that_is_written_in_two_ways_is_the_same(app, quick):
    set_up(app, "caf\u00e9 and more words")
    with away(app) as client:
        assert sign_in(client, "cafe\u0301 and more words").status_code == 303


def test_the_passphrase_is_hashed_as_rfc_9106_recommends_for_little_memory(app):
    set_up(app)
    # Its second recommendation: t=3, m=64 MiB (2^16 KiB), p=4.
    assert "$argon2id$v=19$m=65536,t=3,p=4$" in text_of_settings(app)
    assert auth.is_passphrase(app.state.store, PASSPHRASE)
    assert not auth.is_passphrase(app.state.store, OTHER)


def test_a_hash_of_former_parameters_is_made_anew_when_it_is_used(guarded, monkeypatch):
    monkeypatch.undo()
    before = text_of_settings(guarded)
    assert auth.is_passphrase(guarded.state.store, PASSPHRASE)
    assert text_of_settings(guarded) != before
    assert "m=65536" in text_of_settings(guarded)


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
    assert auth.is_passphrase(guarded.state.store, PASSPHRASE)


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
    assert not auth.has_passphrase(app.state.store)
