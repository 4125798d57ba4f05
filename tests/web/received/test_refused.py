"""What is no sent file, or was forged, is refused in one sentence."""

import base64
from dataclasses import replace

import pytest

from app.archive.reader import Archive
from app.services.exchange import file_contents
from app.web.downloads import received_file
from tests.web.conftest import refusals_of, soup
from tests.web.received.files import (
    ADDRESS,
    edited,
    holds,
    look,
    multiplied,
    store_of,
    with_data,
)

pytestmark = pytest.mark.any_database

BAD = {
    "no file at all": (b"", "a battery's file made with Fadeline"),
    "no text": (b"\xff\xd8\xff\xe0JFIF", "bytes that are not text"),
    "another text": (
        b"date,capacity\n2026-01-01,90",
        "It needs a battery's file made with Fadeline",
    ),
    "another page": (b"<!doctype html><html><p>Hello</p></html>", "another web page"),
    "too much": (b"<!doctype html>" + b"x" * 3_000_001, "at most 3 MB"),
    "broken marks": (b"<!doctype html><html>" + b"<![" * 9, "broken HTML"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_such_file_is_refused_in_one_sentence(empty, name):
    content, said = BAD[name]
    refused(empty, content, said)


def refused(browser, text, said):
    waiting = set(store_of(browser).staging.iterdir())
    answer = look(browser, text)
    assert answer.status_code == 422
    page = soup(answer)
    assert len(page.select(".problems li")) == 1
    assert said in refusals_of(page), refusals_of(page)
    assert holds(browser) == []
    assert set(store_of(browser).staging.iterdir()) == waiting


def test_half_a_file_is_refused(empty, sent):
    refused(empty, sent[: len(sent) // 2], "its end is missing")
    refused(empty, sent[:-20], "its end is missing")


def test_a_newer_format_is_refused(empty, sent):
    newer = sent.replace('data-fadeline-file="2"', 'data-fadeline-file="3"')
    refused(empty, newer, "3, which a newer Fadeline reads")


def test_data_that_were_damaged_are_refused(empty, sent):
    refused(empty, with_data(sent, lambda data: data[: len(data) // 2]), "its end is missing")
    middle = with_data(sent, lambda data: data[:4000] + b"\0" * 50 + data[4050:])
    refused(empty, middle, "The data in this file cannot be used")
    refused(empty, ADDRESS.sub('href="data:application/zip;base64,%%%"', sent), "damaged ones")
    refused(empty, ADDRESS.sub("", sent), "no data")
    link = ADDRESS.search(sent).group(0)
    refused(empty, sent.replace("</main>", f"<a {link}>x</a></main>"), "2 times data")


@pytest.mark.parametrize(
    "element",
    ["<script>alert(1)</script>", "<img src=x onerror=a>", "<!-- x -->", '<p onclick="a">x</p>'],
)
def test_what_fadeline_never_writes_is_refused(empty, sent, element):
    refused(empty, sent.replace("<main>", f"<main>{element}"), "the file was changed")


@pytest.mark.parametrize(
    ("path", "old", "new", "said"),
    [
        ("tables/battery.csv", b",100.0,", b",-5.0,", "rated_ah"),
        ("tables/battery.csv", b",lfp,", b",gold,", "chemistry"),
        ("tables/battery.csv", b"Bench battery", b"x" * 81, "at most 80 characters"),
        ("tables/discharge.csv", b"2026-11-15T", b"2036-11-15T", "a moment from 1970 up to now"),
        ("tables/discharge.csv", b"protection", b"boredom", "end_reason"),
        ("tables/discharge.csv", b"2025-11-15T", b"2026-11-15T", "start at the same moment"),
        ("tables/meter.csv", b",1,shunt", b",7,shunt", "the number of a meter"),
        ("tables/event.csv", b"moved", b"x", "kind"),
        ("readings/", b",9.0,", b",nine,", "current_a"),
        ("readings/", b",9.0,", b",0.0,", "cannot be used"),
        ("datapackage.json", b'"kind": "battery"', b'"kind": "recipe"', "recipe"),
        ("datapackage.json", b'"as_of": "2026-11-25"', b'"as_of": "now"', "as of"),
        ("datapackage.json", b'"as_of": "2026-11-25"', b'"as_of": "9999-12-31"', "1970 to"),
        ("datapackage.json", b'"format": 2', b'"format": 3', "which a newer Fadeline reads"),
    ],
)
def test_forged_data_are_refused_by_name(empty, sent, path, old, new, said):
    refused(empty, edited(sent, path, old, new), said)


def test_an_archive_of_all_records_is_no_such_data(empty, client, sent):
    everything = client.post("/records/export", data={}).content
    refused(empty, with_data(sent, lambda _: everything), "It needs those of one battery")


def test_the_data_of_a_file_are_no_archive_of_all_records(empty, sent):
    data = base64.b64decode(ADDRESS.search(sent).group(2))
    answer = empty.post("/records/restore", files={"archive": ("x.zip", data)})
    assert answer.status_code == 422
    assert "A battery that was sent is opened as a received file." in soup(answer).text


def test_data_that_unpack_to_far_too_much_are_refused(empty, sent, monkeypatch):
    most = replace(file_contents._MAX_SIZE, unpacked_bytes=10_000)
    monkeypatch.setattr(file_contents, "_MAX_SIZE", most)
    refused(empty, sent, "unpacked")


def test_more_readings_than_any_file_to_send_holds_are_refused(empty, sent, monkeypatch):
    """Five tests of 121, 116, 111, 106 and 101 readings, a tenth of an hour apart."""
    monkeypatch.setattr(file_contents, "_MAX_SIZE", replace(file_contents._MAX_SIZE, readings=555))
    assert look(empty, sent).status_code == 200
    monkeypatch.setattr(file_contents, "_MAX_SIZE", replace(file_contents._MAX_SIZE, readings=554))
    answer = look(empty, sent)
    assert answer.status_code == 422
    assert "more than 554 readings" in answer.text


@pytest.fixture
def computes_nothing(monkeypatch):
    """What takes long fails the test."""

    def never(*_):
        raise AssertionError("computed before it was refused")

    monkeypatch.setattr(received_file, "sent_report", never)
    return monkeypatch


def test_more_tests_than_any_file_to_send_holds_are_refused_at_once(empty, sent, computes_nothing):
    """Before their readings are read, of which each takes longer than a whole test."""
    many = multiplied(sent, file_contents.MAX_TESTS + 1)
    computes_nothing.setattr(Archive, "with_readings", lambda *_: pytest.fail("read"))
    refused(empty, many, "“more than 1600” does not fit. It needs at most 1600")


def test_tests_whose_page_would_be_too_long_are_refused_at_once(empty, sent, computes_nothing):
    """Each with 111 readings in the page and its whole budget: the most detail there is."""
    assert 'data-detail="0"' in sent
    refused(empty, multiplied(sent, 700), "“data of 700 tests” does not fit. It needs data whose")


def test_a_file_with_as_many_tests_as_fit_is_looked_at(empty, sent):
    answer = look(empty, multiplied(sent, 60))
    assert answer.status_code == 200
    assert "60 tests with 6,660 readings" in " ".join(soup(answer).text.split())


def test_more_entries_than_any_file_to_send_holds_are_refused(empty, sent, monkeypatch):
    """README, four tables, the descriptor, and the readings."""
    monkeypatch.setattr(file_contents, "_MAX_SIZE", replace(file_contents._MAX_SIZE, entries=7))
    assert look(empty, sent).status_code == 200
    monkeypatch.setattr(file_contents, "_MAX_SIZE", replace(file_contents._MAX_SIZE, entries=6))
    assert "7 entries” does not fit. It needs at most 6 entries" in look(empty, sent).text
