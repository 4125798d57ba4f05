"""Headers that decide who asks, written as an attacker would: Host, Cookie, Origin."""

import re
from pathlib import Path

import pytest

from app.web.request import bare_host
from app.web.security.login_throttle import FREE
from app.web.security.requester import COOKIE
from app.web.security.unread import MAX_COOKIE_BYTES
from tests.conftest import here
from tests.routes import asked_of_the_owner
from tests.web.auth_client import CLUB, away

pytestmark = pytest.mark.any_database
# Each leads what is put together from it to an open path, or passes for this machine.
FORGED = [
    "127.0.0.1:80/sign-in?",
    "127.0.0.1:80/shared/?",
    "127.0.0.1:80/static/#",
    "127.0.0.1:80@evil.example",
    "evil.example@127.0.0.1",
    "127.0.0.1:http",
    "127.0.0.1:80\\evil",
    "127.0.0.1 evil",
    "127.0.0.1:",
    "[::1",
    "[::1]80",
    "http://127.0.0.1",
]


@pytest.mark.parametrize("named", FORGED)
def test_no_closed_address_answers_to_a_forged_host(guarded, named):
    asked = [*asked_of_the_owner(guarded), ("GET", "/shared/x"), ("GET", "/static/frame.css")]
    with away(guarded, follow_redirects=False) as stranger, here(guarded) as machine:
        for method, path in asked:
            for client in (stranger, machine):
                answer = client.request(method, path, headers={"Host": named})
                assert answer.status_code == 400, (method, path)
    said = machine.get("/", headers={"Host": named}).text
    assert "with digits as its port" in said


def test_no_decision_hangs_on_an_address_that_is_put_together_from_the_host():
    found = [
        f"{file}: {line}"
        for file in Path("app").rglob("*.py")
        for line in file.read_text(encoding="utf-8").splitlines()
        if re.search(r"\brequest\.(url|base_url)\b", line) and "`request.url`" not in line
    ]
    assert found == []


@pytest.mark.parametrize(
    ("named", "bare"),
    [("127.0.0.1:8765", "127.0.0.1"), ("[::1]:8765", "[::1]"), ("club", "club"), ("a:b", "")],
)
def test_the_port_of_a_host_is_digits(named, bare):
    assert bare_host(named) == bare


def test_a_cookie_too_long_to_be_ours_is_refused_before_it_is_read(client, monkeypatch):
    """On Python 3.11.7 the standard library takes 13 s to read these 60 kB (CVE-2024-7592)."""

    def read(_text):
        raise AssertionError("the cookies were read")

    monkeypatch.setattr("starlette.requests.cookie_parser", read)
    for cookie in (f'{COOKIE}="' + "\\" * 60_000, "a=b; " * 1000):
        answer = client.get("/", headers={"Cookie": cookie})
        assert answer.status_code == 431
        assert f"{len(cookie):,} bytes" in answer.text
        assert "at most 4,096" in answer.text


def test_cookies_of_several_lines_are_counted_together(client):
    half = "a=" + "b" * (MAX_COOKIE_BYTES // 2)
    assert client.get("/", headers=[("Cookie", half)]).status_code == 200
    assert client.get("/", headers=[("Cookie", half), ("Cookie", half)]).status_code == 431


@pytest.mark.parametrize("origin", ["http://[", "http://[::1", "https://", "://", "127.0.0.1"])
def test_an_origin_that_is_none_is_another_site(client, battery, origin):
    answer = client.post(f"/bin/battery/{battery.id}", headers={"Origin": origin})
    assert answer.status_code == 403
    assert "came from another site" in answer.text


def test_of_two_lines_of_a_proxy_the_last_one_counts(club):
    with away(club, CLUB, "127.0.0.1") as client:
        for number in range(FREE + 1):
            # The first line is the sender's own, as made up as he likes.
            lines = [("X-Forwarded-For", f"10.9.9.{number}"), ("X-Forwarded-For", "10.0.0.1")]
            answer = client.post("/sign-in", data={"passphrase": "x"}, headers=lines)
        assert answer.status_code == 429
