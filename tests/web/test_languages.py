"""Which language a page has, who may choose it, and that all of the page is in it."""

import contextlib
import json
import re
import sqlite3
from collections.abc import Iterator

import pytest
from bs4 import BeautifulSoup
from fastapi.testclient import TestClient

from app.server.application import create_app
from app.settings import Settings
from tests.browser.every_page import EMPTY, FULL
from tests.browser.seed import fill
from tests.builders import NOW
from tests.conftest import here
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database

GERMAN = {"accept-language": "de-DE,de;q=0.9,en;q=0.5"}
USUAL = {"language": "device", "temperature": "celsius", "dates": "words", "decimals": "language"}

# Little words that German does not know; a sentence of English hardly does without any of them.
ENGLISH = re.compile(
    r"\b(the|of|and|is|are|were|with|from|this|that|its?|to|or|you|your|than|for|by|at|as|on|if|"
    r"one|has|have|been?|which|when|how|each|less|more|not)\b",
    re.IGNORECASE,
)
# Titles of what is quoted, and what a machine reads.
QUOTED = (
    "US Bureau of Reclamation",
    "A Decade of Insights",
    "Journal of Energy Storage",
    "J. Energy Storage",
    "Journal of Power Sources",
    "IEEE Transactions on Industry Applications",
    "US Fire Administration",
    "Authorization: Bearer",
    # Typed into a note by tests/browser/seed.py.
    "Moved to the rear",
)
_FOLDER = re.compile(r"/(tmp|var|private)/\S+")
HEARD = ("aria-label", "alt", "title", "placeholder", "data-head")


def language_of(answer) -> str:
    return soup(answer).html["lang"]


def prefer(client, language: str) -> None:
    assert client.post("/preferences", data=USUAL | {"language": language}).status_code == 200


def test_a_page_has_the_language_that_the_browser_asks_for(client):
    assert language_of(client.get("/")) == "en"
    assert language_of(client.get("/", headers=GERMAN)) == "de"
    assert language_of(client.get("/", headers={"accept-language": "fr"})) == "en"


def test_what_the_owner_prefers_counts_more_than_the_browser(client):
    prefer(client, "de")
    assert language_of(client.get("/", headers={"accept-language": "en"})) == "de"
    prefer(client, "en")
    assert language_of(client.get("/", headers=GERMAN)) == "en"
    prefer(client, "device")
    assert language_of(client.get("/", headers=GERMAN)) == "de"


@pytest.mark.parametrize("path", ["/help", "/good-test", "/words", "/method"])
def test_help_has_the_language_that_the_owner_prefers(client, path):
    prefer(client, "de")
    assert language_of(client.get(path, headers={"accept-language": "en"})) == "de"


def test_help_has_the_language_of_a_stranger_s_device(client, app):
    prefer(client, "de")
    with TestClient(app, client=("192.0.2.7", 5000)) as stranger:
        assert language_of(stranger.get("/words", headers={"accept-language": "en"})) == "en"
        assert language_of(stranger.get("/words", headers=GERMAN)) == "de"


def test_a_refusal_and_a_page_that_there_is_not_have_the_language_too(client):
    assert language_of(client.get("/batteries/99", headers=GERMAN)) == "de"
    assert language_of(client.post("/batteries", data={}, headers=GERMAN)) == "de"


def test_numbers_take_the_sign_of_the_language(client):
    def sample(**headers: str) -> str:
        return soup(client.get("/preferences", headers=headers)).main.text

    assert "98.4 Ah" in sample()
    assert "98,4 Ah" in sample(**GERMAN)


@pytest.mark.parametrize("path", ["{link}", "/batteries/1/report"])
def test_what_others_read_follows_their_device_and_not_the_owner(client, tested, path):
    if path == "{link}":
        path = soup(client.post("/batteries/1/shares")).select_one("#address code").text
    prefer(client, "de")
    assert language_of(client.get(path, headers={"accept-language": "en"})) == "en"
    prefer(client, "en")
    assert language_of(client.get(path, headers=GERMAN)) == "de"


@pytest.mark.parametrize(
    "path",
    [
        "/batteries/1/file.html",
        "/batteries/1/tests.csv",
        "/batteries/1/tests.json",
        "/batteries/1/curves.csv",
        "/discharges/5/readings.csv",
        "/discharges/5/result.json",
        "/api/batteries",
        "/api/batteries/1",
        "/api/discharges/5",
    ],
)
def test_files_and_data_are_the_same_in_every_language(client, tested, path):
    usual = client.get(path, headers={"accept-language": "en"})
    assert usual.status_code == 200
    prefer(client, "de")
    assert client.get(path, headers=GERMAN).content == usual.content


def test_a_file_that_was_sent_agrees_where_german_is_read(client, tested):
    prefer(client, "de")
    sent = client.get("/batteries/1/file.html").content
    answer = client.post("/received", files={"file": ("sent.html", sent, "text/html")})
    assert language_of(answer) == "de"
    assert not soup(answer).select("[aria-labelledby=agrees-title] table")


@pytest.fixture(scope="module")
def filled(tmp_path_factory) -> Iterator[tuple[TestClient, dict[str, str], tuple[str, ...]]]:
    """A browser that asks for German, the addresses of what there is, and what somebody typed."""
    folder = tmp_path_factory.mktemp("filled") / "data"
    made = fill(folder)
    app = create_app(Settings(data_dir=folder, busy_timeout_ms=500))
    app.state.clock = lambda: NOW
    with here(app) as client:
        client.headers.update(GERMAN)
        yield client, made, typed_in(folder / "fadeline.db")
    app.state.example.close()
    app.state.store.engine.dispose()


def typed_in(file) -> tuple[str, ...]:
    """Every text of more than a word in the data file, the longest first."""
    found: set[str] = set()
    data = sqlite3.connect(file)
    for (table,) in data.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall():
        for row in data.execute(f'SELECT * FROM "{table}"').fetchall():
            for cell in row:
                if isinstance(cell, str):
                    found.update(_texts_in(cell))
    data.close()
    return tuple(sorted((one for one in found if " " in one), key=len, reverse=True))


def _texts_in(cell: object) -> Iterator[str]:
    if isinstance(cell, str):
        yield cell
        with contextlib.suppress(ValueError):
            yield from _texts_in(json.loads(cell))
    elif isinstance(cell, list):
        for one in cell:
            yield from _texts_in(one)
    elif isinstance(cell, dict):
        for name, one in cell.items():
            # The text of a kept message is the program's, and read in German.
            if not (name == "text" and "values" in cell):
                yield from _texts_in(one)


# What it quotes of the OpenAPI document is English, says so in a sentence and is marked as such.
DESCRIBED_IN_ENGLISH = "/help/scripts"


def said_in(page: BeautifulSoup) -> Iterator[str]:
    """What a page says to eyes and ears, piece by piece."""
    for one in page.find_all(("script", "style", "code", "pre")):
        one.decompose()
    yield from (text for text in page.stripped_strings)
    for element in page.find_all(True):
        yield from (element[name] for name in HEARD if element.get(name))


def english_in(text: str, typed: tuple[str, ...]) -> bool:
    for known in (*QUOTED, *typed):
        text = text.replace(known, "")
    return bool(ENGLISH.search(_FOLDER.sub("", text)))


@pytest.mark.data_file
@pytest.mark.parametrize("stop", [one for one in FULL if not one.act], ids=lambda one: one.name)
def test_a_page_in_german_says_nothing_in_english(filled, stop):
    client, made, typed = filled
    answer = client.get(stop.address(made))
    assert answer.status_code == stop.status
    assert language_of(answer) == "de"
    page = soup(answer)
    if stop.path == DESCRIBED_IN_ENGLISH:
        for one in page.select("main [lang=en]"):
            one.decompose()
    assert [text for text in said_in(page) if english_in(text, typed)] == []


@pytest.mark.parametrize("stop", EMPTY, ids=lambda one: one.name)
def test_a_page_without_records_says_nothing_in_english_either(client, stop):
    answer = client.get(stop.path, headers=GERMAN)
    assert [text for text in said_in(soup(answer)) if english_in(text, ())] == []


@pytest.mark.data_file
def test_charts_carry_no_english(filled):
    client, _, typed = filled
    page = soup(client.get("/batteries/1"))
    asked = [one["data-chart"] for one in page.select("[data-chart]")]
    figures = [client.get(f"/batteries/1{address}").json() for address in asked]
    assert figures
    names = [trace.get("name", "") for figure in figures for trace in figure["data"]]
    assert [name for name in names if english_in(name, typed)] == []
