"""A file that somebody sent is compared with its own data, and every difference is shown."""

import gzip
import re
from dataclasses import replace
from pathlib import Path

import pytest

from app.domain.entities.meter import MeterKind
from app.services.entities import batteries, discharges
from app.services.exchange.export_file import battery_to_send, packed, thinned
from app.web.downloads.battery_file import made_to_fit
from tests.builders import NOW, battery_details, discharge_details
from tests.web.conftest import soup
from tests.web.received.files import edited, holds, keep, look

pytestmark = pytest.mark.any_database


def test_a_file_agrees_with_its_own_readings_elsewhere(empty, sent):
    page = soup(look(empty, sent))
    assert page.h1.text == "Bench battery"
    assert page.select_one(".headline").text == "Every figure agrees."
    assert page.select_one("figure.chart")
    assert "worked out without the battery's use and place" in page.text
    assert holds(empty) == [], "nothing is stored before the owner's word"


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("Measured 90.0 Ah", "Measured 99.0 Ah", "Each test, with its picture and readings"),
        ("95 of 100 times", "99 of 100 times", "How sure is this?"),
        ("charged full, then rested", "charged full, and rested", "15 Nov 2026, "),
        ("0 h 00 min  9.00", "0 h 00 min  9.50", "Readings"),
        ("Only a test that began full", "Any test that began full", "How to read this"),
        ("off by at most 1 %", "off by at most 2 %", "How it was measured"),
    ],
)
def test_a_figure_or_sentence_that_was_changed_is_found(empty, sent, old, new, where):
    assert old in sent
    page = soup(look(empty, sent.replace(old, new, 1)))
    assert "not agree" in page.select_one(".headline").text
    row = page.select_one("section.preview tbody tr")
    assert where in row.th.text
    said, due = (cell.text for cell in row.select("td"))
    assert new.split()[0] in said or new.split()[0] in row.text
    assert said != due


def test_where_two_long_texts_part_is_shown(empty, sent):
    assert sent.count("10 h 00 min  9.00  10.00") == 1
    page = soup(look(empty, sent.replace("10 h 00 min  9.00  10.00", "10 h 00 min  9.00  10.40")))
    (row,) = page.select("section.preview tbody tr")
    said, due = (cell.text for cell in row.select("td"))
    assert said.startswith("…")
    assert "10.40" in said
    assert "10.00 " in due


def test_a_reason_that_was_taken_out_is_found(empty, sent):
    without = re.sub(r'(<ul class="reasons">\s*)<li>[^<]*</li>', r"\1", sent, count=1)
    assert without != sent
    row = soup(look(empty, without)).select_one("section.preview tbody tr")
    said, due = (cell.text for cell in row.select("td"))
    assert said == "nothing"
    assert "that the battery's protection switched it off" in due


def test_a_point_that_was_moved_in_the_chart_is_found(empty, sent):
    moved = re.sub(r'(<circle cx="[\d.]+%" cy=")[\d.]+', r"\g<1>1", sent, count=1)
    assert moved != sent
    row = soup(look(empty, moved)).select_one("section.preview tbody tr")
    assert "in the picture: circle" in row.text


@pytest.fixture(scope="module")
def former():
    """A file as it was laid out before, with four tests and an event; its styles are cut out."""
    return gzip.decompress((Path(__file__).parent / "format_1.html.gz").read_bytes()).decode()


def test_a_file_of_the_former_format_is_read_and_agrees(away, former):
    page = soup(look(away, former))
    assert page.select_one(".headline").text == "Every figure agrees."
    said = page.select_one("section.preview").text
    assert "its figures are compared, its words and pictures are not" in said
    assert "every sentence" not in said
    keep(away, former)
    assert holds(away) == ["Bench battery (received)"]
    assert soup(away.get("/discharges/4")).select_one(".headline").text.startswith("Measured 90.0")


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("Measured 90.0 Ah", "Measured 97.0 Ah", "the battery as a whole"),
        ("<dd>90.00 Ah", "<dd>93.00 Ah", "15 Nov 2026, 13:00"),
        ("0 h 00 min  9.00", "0 h 00 min  9.50", "15 Nov 2026, 13:00"),
        ("99 % likely below", "93 % likely below", "15 Nov 2026, 13:00"),
    ],
)
def test_a_figure_that_was_changed_in_a_former_file_is_found(empty, former, old, new, where):
    assert old in former
    page = soup(look(empty, former.replace(old, new, 1)))
    assert "not agree" in page.select_one(".headline").text
    (row,) = page.select("section.preview tbody tr")
    assert row.th.text == where


def test_readings_that_were_changed_give_other_figures_than_the_file_says(empty, sent):
    forged = edited(sent, "readings/", b",9.0,", b",9.9,")
    page = soup(look(empty, forged))
    assert "not agree" in page.select_one(".headline").text
    assert "99.0" in page.select_one("section.preview").text


def test_a_thinned_file_says_why_it_differs_and_is_kept_with_that_said(away, store, tested):
    whole = battery_to_send(store, tested.id, NOW.date(), "0.1.0", demo=False)

    def pack(some):
        # As if nothing more than 40 readings a test had fitted.
        return packed(store, thinned(some, 40))

    page = look(away, made_to_fit(whole, pack))
    words = " ".join(soup(page).select_one("section.preview").text.split())
    assert "The file holds 200 of 555 readings" in words
    keep(away, made_to_fit(whole, pack))
    said = soup(away.get("/discharges/1")).text
    assert "Only 40 of 121 readings came with the file" in said


def test_a_file_of_another_version_says_so_beside_its_differences(empty, client, tested):
    client.app.version = "0.9.0"
    other = client.get(f"/batteries/{tested.id}/file.html").text
    assert soup(look(empty, other)).select_one(".headline").text == "Every figure agrees."
    changed = soup(look(empty, other.replace("Measured 90.0", "Measured 91.0")))
    assert "Another version of Fadeline (0.9.0) made it" in changed.text


def test_texts_of_the_file_are_never_shown_as_elements(away, client, store):
    battery = batteries.add_battery(store, battery_details(name="<b onfocus=a>Bad</b>"))
    details = discharge_details(load="<script>alert(1)</script>")
    discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    text = client.get(f"/batteries/{battery.id}/file.html").text
    changed = text.replace("Measured 90.0 Ah", "&lt;script&gt;alert(2)&lt;/script&gt;", 1)
    for answer in (look(away, changed), keep(away, text)):
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
        assert "<b onfocus" not in answer.text


def test_a_demo_s_file_says_that_it_is_invented_when_it_is_received(away, app, client, tested):
    app.state.settings = replace(app.state.settings, demo=True)
    text = client.get(f"/batteries/{tested.id}/file.html").text
    assert "everything in it is invented" in soup(look(away, text)).text
    assert "They are invented." in soup(keep(away, text)).text
