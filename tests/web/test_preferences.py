"""Units and formats follow the reader on the own pages; what others read stays the same."""

import contextlib
import re
from dataclasses import replace
from zipfile import ZipFile

import pytest
from sqlalchemy import event

from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import DecimalShown, Language, Preferences, TemperatureShown
from app.services.access.preferences import keep_preferences, preferences_of
from app.services.exchange import records_archive
from app.web.rendering.filters import day, number, temperature, thousands
from tests.builders import NOW
from tests.german import in_german
from tests.web.conftest import soup

OTHERWISE = {
    "language": "en",
    "temperature": "fahrenheit",
    "dates": "year_first",
    "decimals": "comma",
}


def words_of(client, path: str) -> str:
    return " ".join(soup(client.get(path)).main.text.split())


@pytest.fixture
def otherwise(client, tested):
    assert client.post("/preferences", data=OTHERWISE).status_code == 200
    return client


def test_without_a_choice_everything_looks_as_usual(client):
    shown = words_of(client, "/preferences")
    assert "a test of 3 Apr 2026 gave 98.4 Ah at 21.5 °C" in shown


def test_the_page_shows_at_once_how_it_looks(otherwise):
    shown = words_of(otherwise, "/preferences")
    assert "a test of 2026-04-03 gave 98,4 Ah at 70,7 °F (21,5 °C)" in shown


def test_the_own_pages_follow(otherwise):
    shown = words_of(otherwise, "/discharges/5")
    assert re.search(r"Delivered, as counted ?\d+,\d\d Ah", shown)
    assert "Capacity test of 2026-" in shown
    assert re.search(r"\d+ °F \(\d+ °C\)", words_of(otherwise, "/batteries/1"))


def test_going_back_shows_everything_as_usual_again(otherwise):
    usual = {"language": "en", "temperature": "celsius", "dates": "words", "decimals": "point"}
    otherwise.post("/preferences", data=usual)
    assert "3 Apr 2026 gave 98.4 Ah at 21.5 °C" in words_of(otherwise, "/preferences")


def test_a_choice_that_there_is_not_is_refused_and_nothing_kept(client, store):
    answer = client.post("/preferences", data=OTHERWISE | {"dates": "moon"})
    assert answer.status_code == 422
    assert "moon" in answer.text
    assert preferences_of(store).dates.value == "words"


def test_links_reports_and_files_look_the_same_to_everybody(client, store, tested):
    link = soup(client.post("/batteries/1/shares")).select_one("#address code").text
    paths = (link, "/batteries/1/report", "/discharges/5/report", "/batteries/1/file.html")
    before = [client.get(path).text for path in paths]
    client.post("/preferences", data=OTHERWISE)
    for path, usual in zip(paths, before, strict=True):
        assert client.get(path).text == usual, path


def test_a_received_file_agrees_whatever_is_preferred(otherwise):
    sent = otherwise.get("/batteries/1/file.html").content
    files = {"file": ("sent.html", sent, "text/html")}
    answer = otherwise.post("/received", data={"action": "check"}, files=files)
    assert soup(answer).select_one(".headline").text == "Every figure agrees."


def test_tables_for_spreadsheets_stay_english(client, tested, monkeypatch):
    known = {"time ran out": "die Zeit war um", "charged full, then rested an hour or more": "voll"}
    in_german(monkeypatch, known)
    for path in ("/batteries/1/tests.csv", "/batteries/1/tests.json", "/discharges/5/result.json"):
        usual = client.get(path, headers={"Accept-Language": "en"}).text
        assert client.get(path, headers={"Accept-Language": "de"}).text == usual, path


def test_words_stand_in_the_order_of_the_reader_s_alphabet(client, monkeypatch):
    known = {"throughput": "Aal", "capacity test": "Zzz"}
    in_german(monkeypatch, known)
    page = soup(client.get("/words", headers={"Accept-Language": "de"}))
    named = [one.text for one in page.select("dl.glossary dt")]
    assert (named[0], named[-1]) == ("Aal", "Zzz")


def test_the_choice_stays_on_this_machine(otherwise, store, tmp_path):
    records_archive.export_records(store, tmp_path / "all.zip")
    with ZipFile(tmp_path / "all.zip") as archive:
        assert all(b"fahrenheit" not in archive.read(name) for name in archive.namelist())


def test_a_temperature_is_converted_as_a_scale_not_as_a_difference():
    """0 °C = 32 °F, 100 °C = 212 °F and −40 in both: exact by definition of the scales."""
    read = Reader(Preferences(temperature=TemperatureShown.FAHRENHEIT)).read
    assert read(temperature(0.0, 0)) == "32 °F (0 °C)"
    assert read(temperature(100.0, 0)) == "212 °F (100 °C)"
    assert read(temperature(-40.0, 0)) == "−40 °F (−40 °C)"
    assert read(temperature(None)) == "–"


def test_thousands_are_parted_by_a_space_where_the_comma_is_the_decimal_sign():
    read = Reader(Preferences(decimals=DecimalShown.COMMA)).read
    assert read(number(-1234.5)) == "−1234,5"
    assert read(thousands(1234567)) == "1\u202f234\u202f567"


def test_numbers_outside_a_page_look_as_usual():
    assert (number(1234.5), thousands(1234567)) == ("1234.5", "1,234,567")
    assert day(NOW).endswith("2026")


@contextlib.contextmanager
def records_away(store):
    """No connection to the records is made any more, as when a database server is stopped."""

    def refuse(*_):
        raise store.engine.dialect.dbapi.OperationalError("unable to open database file")

    store.engine.dispose()
    event.listen(store.engine, "do_connect", refuse)
    yield
    event.remove(store.engine, "do_connect", refuse)


def language_of(client, path="/preferences", **asked):
    answer = client.get(path, headers={"accept-language": "en"} | asked)
    return answer.status_code, soup(answer).html["lang"]


def test_while_the_records_are_away_pages_stay_in_the_chosen_language(client, store, tested):
    client.post("/preferences", data=OTHERWISE | {"language": "de"})
    with records_away(store):
        assert language_of(client) == (503, "de")
        assert language_of(client, "/batteries/1") == (503, "de")
    assert language_of(client) == (200, "de")


def test_a_choice_of_another_process_is_seen_once_the_records_are_back(client, store, app):
    client.post("/preferences", data=OTHERWISE | {"language": "de"})
    with records_away(store):
        assert language_of(client) == (503, "de")
    beside = replace(store, preferred=Preferences())
    keep_preferences(beside, replace(preferences_of(beside), language=Language.ENGLISH))
    assert language_of(client, **{"accept-language": "de"}) == (200, "en")
    with records_away(store):
        assert language_of(client, **{"accept-language": "de"}) == (503, "en")


def test_without_a_choice_the_device_decides_while_the_records_are_away(client, store):
    with records_away(store):
        assert language_of(client, **{"accept-language": "de"}) == (503, "de")
        assert language_of(client) == (503, "en")
