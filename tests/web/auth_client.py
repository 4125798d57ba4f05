"""Visitors of a Fadeline with a passphrase, for the tests of its door."""

from datetime import timedelta

from argon2 import PasswordHasher
from bs4 import BeautifulSoup
from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.services.access import auth
from tests.builders import NOW

PASSPHRASE = "copper lantern drift seven"
HERE = "http://192.168.1.7:8765"
CLUB = "https://club.example"
# As safe as the real one is slow; the real one has a test of its own.
QUICK = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)


def soup(response):
    """A page as it reads: a space is a space, whether a line may end there or not."""
    return BeautifulSoup(response.text.replace("\u00a0", " "), "lxml")


def refusals_of(page):
    """What a page refuses: the list at its top, and the sentences at the fields it leads to."""
    assert page.select_one("#problems"), "nothing was refused"
    return " ".join(one.get_text(" ") for one in page.select("#problems, .problem"))


def away(app: FastAPI, address: str = HERE, sender: str = "192.168.1.20", **options) -> TestClient:
    """A browser on another device. Like every browser it says where a form was sent from."""
    options.setdefault("headers", {"Origin": address})
    return TestClient(app, base_url=address, client=(sender, 5000), **options)


def sign_in(client: TestClient, passphrase: str = PASSPHRASE, back: str = "/"):
    data = {"passphrase": passphrase, "back": back}
    return client.post("/sign-in", data=data, follow_redirects=False)


def token_on(client: TestClient, path: str = "/door") -> str:
    """The word that the forms of this session carry."""
    return soup(client.get(path)).select_one("input[name=form_token]")["value"]


def set_up(app: FastAPI, passphrase: str = PASSPHRASE) -> None:
    auth.set_passphrase(app.state.store, passphrase)
    at(app, timedelta(0))


OTHER = "seven drifting copper lamps"


def at(app: FastAPI, later: timedelta) -> None:
    """Both clocks are moved: that of the day, and that of attempts to sign in."""
    app.state.clock = lambda: NOW + later
    app.state.attempts.clock = later.total_seconds
