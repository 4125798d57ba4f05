"""Sessions: made up, ended, and never there twice."""

from datetime import timedelta

import pytest

from app.domain.auth import ABSOLUTE, IDLE
from app.domain.tokens import hash_token
from app.services.access import auth
from tests.builders import NOW
from tests.conftest import here
from tests.web.auth_client import at, away, sign_in, soup, token_on


def asked_to_sign_in(client, path):
    """Whether a page leads to the sign-in, and back from there; else it opens."""
    answer = client.get(path, follow_redirects=False)
    if answer.status_code == 200:
        return False
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/sign-in")
    return True


@pytest.mark.parametrize("kind", ["shape", "fold", "forged"])
def test_a_made_up_session_opens_nothing(phone, kind):
    secret = phone.cookies["session"]
    made_up = {"shape": "x" * 43, "fold": secret.swapcase(), "forged": hash_token(secret)}[kind]
    phone.cookies.clear()
    phone.cookies.set("session", made_up)
    assert asked_to_sign_in(phone, "/")


def test_a_session_ends_when_it_is_not_used(phone, guarded):
    at(guarded, IDLE - timedelta(minutes=1))
    assert not asked_to_sign_in(phone, "/bin")
    at(guarded, 2 * IDLE - timedelta(minutes=2))
    assert not asked_to_sign_in(phone, "/bin")
    at(guarded, 3 * IDLE)
    assert asked_to_sign_in(phone, "/bin")


def test_a_page_that_asks_by_itself_does_not_keep_its_session_open(phone, guarded):
    for hours in range(6, 24, 6):
        at(guarded, timedelta(hours=hours))
        assert phone.get("/api/batteries").status_code == 200
    at(guarded, IDLE)
    answer = phone.get("/api/batteries")
    assert (answer.status_code, answer.json()["details"]) == (403, ["Sign in first."])


def test_a_session_ends_however_much_it_is_used(phone, guarded):
    for days in range(ABSOLUTE.days):
        at(guarded, timedelta(days=days) - timedelta(minutes=days))
        assert not asked_to_sign_in(phone, "/bin")
    at(guarded, ABSOLUTE)
    assert asked_to_sign_in(phone, "/bin")


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


def test_every_sign_in_gets_a_new_session_and_ends_the_one_before(phone):
    before = phone.cookies["session"]
    sign_in(phone)
    after = phone.cookies["session"]
    assert after != before
    phone.cookies.clear()
    phone.cookies.set("session", before)
    assert phone.get("/", follow_redirects=False).status_code == 303


def test_more_devices_than_one_person_has_make_the_oldest_sign_in_anew(phone, guarded):
    for minutes in range(auth.MAX_SESSIONS):
        at(guarded, timedelta(minutes=minutes))
        with away(guarded) as device:
            sign_in(device)
    assert len(auth.list_sessions(guarded.state.store, NOW)) == auth.MAX_SESSIONS
    assert phone.get("/", follow_redirects=False).status_code == 303


def test_what_was_typed_when_the_session_ended_is_not_stored_and_not_lost(phone, guarded):
    auth.end_all_sessions(guarded.state.store)
    answer = phone.post("/batteries", data={"name": "Typed"})
    assert answer.status_code == 403
    assert "your entries are still in the form" in answer.text
    assert soup(answer).select_one("main a")["href"] == "/sign-in"
