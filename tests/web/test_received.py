"""A file that somebody sent: checked against its own data, kept once, and never believed."""

import base64
import io
import re
import zipfile
from dataclasses import replace
from datetime import date, timedelta

import pytest

from app.domain.event import EventKind
from app.domain.meter import MeterKind
from app.main import create_app
from app.services import batteries, discharges, events, receiving
from app.services.sending import battery_to_send, packed, thinned
from app.settings import Settings
from app.web.battery_file import made_to_fit
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.conftest import here
from tests.web.conftest import soup

ADDRESS = re.compile(r'(href="data:application/zip;base64,)([^"]*)"')


def opened(folder):
    """Another Fadeline, of whoever gets the file."""
    made = create_app(Settings(data_dir=folder, busy_timeout_ms=200))
    made.state.clock = lambda: NOW
    return made


@pytest.fixture
def away(tmp_path):
    made = opened(tmp_path / "away")
    with here(made) as browser:
        yield browser
    made.state.store.engine.dispose()


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """One in which nothing is ever kept."""
    made = opened(tmp_path_factory.mktemp("empty"))
    with here(made) as browser:
        yield browser
    made.state.store.engine.dispose()


def with_five_tests(store):
    battery = batteries.add_battery(store, battery_details())
    for years, hours in ((4, 12), (3, 11.5), (2, 11), (1, 10.5), (0, 10)):
        readings = steady(hours=hours, step_h=0.1)
        details = discharge_details(readings, days_ago=10 + 365 * years)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    events.add_event(store, battery.id, date(2026, 1, 5), EventKind.MOVED, "SECRETEVENT")
    return battery


@pytest.fixture(scope="module")
def sent(tmp_path_factory):
    """The file of a battery with five tests and an event, whose home the tests do not need."""
    made = opened(tmp_path_factory.mktemp("home"))
    with here(made) as browser:
        with_five_tests(made.state.store)
        yield browser.get("/batteries/1/file.html").text
    made.state.store.engine.dispose()


@pytest.fixture
def tested(store):
    return with_five_tests(store)


@pytest.fixture
def sent_by_client(client, tested):
    """The same battery's file where its home is needed, too."""
    return client.get(f"/batteries/{tested.id}/file.html").text


def store_of(browser):
    return browser.app.state.store


def look(browser, text):
    content = text if isinstance(text, bytes) else text.encode()
    return browser.post("/received", files={"file": ("sent.html", content, "text/html")})


def keep(browser, text):
    staged = soup(look(browser, text)).select_one("input[name=staged]")["value"]
    return browser.post("/received", data={"staged": staged})


def holds(browser):
    return [one.details.name for one in batteries.kept_batteries(store_of(browser))]


def with_data(text, change):
    """The file with its ZIP replaced by what change makes of it."""
    data = base64.b64decode(ADDRESS.search(text).group(2))
    packed_again = base64.b64encode(change(data)).decode()
    return ADDRESS.sub(lambda found: f'{found.group(1)}{packed_again}"', text)


def rewritten(data, edit):
    """A ZIP with edited entries whose hashes are right again: a careful forger's."""
    import hashlib
    import json

    old = zipfile.ZipFile(io.BytesIO(data))
    entries = {name: edit(name, old.read(name)) for name in old.namelist()}
    package = json.loads(entries["datapackage.json"])
    for resource in package["resources"]:
        content = entries[resource["path"]]
        resource["bytes"] = len(content)
        resource["hash"] = f"sha256:{hashlib.sha256(content).hexdigest()}"
    entries["datapackage.json"] = json.dumps(package).encode()
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries.items():
            archive.writestr(name, content)
    return made.getvalue()


def edited(text, path, old, new):
    def edit(name, content):
        if not name.startswith(path) or name.endswith("schema.json"):
            return content
        assert old in content
        return content.replace(old, new)

    return with_data(text, lambda data: rewritten(data, edit))


def test_a_file_agrees_with_its_own_readings_elsewhere(empty, sent):
    page = soup(look(empty, sent))
    assert page.h1.text == "Bench battery"
    assert page.select_one(".headline").text == "Every figure agrees."
    assert page.select_one("figure.chart")
    assert holds(empty) == [], "nothing is stored before the owner's word"


def test_kept_it_is_a_battery_of_its_own_marked_as_received(away, client, sent_by_client):
    answer = keep(away, sent_by_client)
    assert answer.url.path == "/batteries/1"
    page = soup(answer)
    assert page.h1.text == "Bench battery (received)"
    assert "Received on 25 Nov 2026 in a file that Fadeline 0.1.0 made" in page.text
    own = soup(client.get("/batteries/1"))
    results = [[c.text for c in row.select("td")] for row in own.select("table tbody tr")]
    assert [[c.text for c in row.select("td")] for row in page.select("table tbody tr")] == results
    assert page.select("dl.facts dd")[1].text == own.select("dl.facts dd")[1].text
    assert "moved" in page.select_one("section[aria-labelledby=events-title]").text
    assert "a received file, as of 25 Nov 2026" in soup(away.get("/discharges/1")).text


def test_the_same_file_twice_does_not_double(away, sent):
    keep(away, sent)
    page = soup(look(away, sent))
    assert "It is here already, with all of these tests." in " ".join(page.main.text.split())
    assert page.select("form button") == []
    staged = page.select_one("input[name=staged]")["value"]
    assert away.post("/received", data={"staged": staged}).url.path == "/batteries/1"
    assert holds(away) == ["Bench battery (received)"]
    assert len(batteries.list_batteries(store_of(away), NOW.date()).shown[0].tests) == 5
    assert len(batteries.list_batteries(store_of(away), NOW.date()).shown[0].events) == 1


def test_a_later_file_adds_its_new_tests_to_the_battery_that_came_before(
    away, client, store, tested, sent_by_client
):
    keep(away, sent_by_client)
    details = discharge_details(steady(hours=9.8, step_h=0.1), days_ago=2)
    discharges.add_discharge(store, tested.id, details, MeterKind.SHUNT, NOW)
    later = client.get(f"/batteries/{tested.id}/file.html").text
    words = " ".join(soup(look(away, later)).main.text.split())
    assert "It is here already with 5 of these tests, which stay as they are; 1 is new." in words
    keep(away, later)
    (report,) = batteries.list_batteries(store_of(away), NOW.date()).shown
    assert len(report.tests) == 6


def test_one_s_own_battery_is_never_touched_by_a_file_of_it(client, store, tested, sent_by_client):
    before = batteries.show_battery(store, tested.id, NOW.date()).report
    keep(client, sent_by_client)
    assert batteries.show_battery(store, tested.id, NOW.date()).report == before
    assert holds(client) == ["Bench battery", "Bench battery (received)"]


def test_what_was_received_can_be_sent_on_and_agrees(away, sent):
    keep(away, sent)
    again = away.get("/batteries/1/file.html").text
    assert soup(look(away, again)).select_one(".headline").text == "Every figure agrees."


def test_tests_of_one_meter_stay_tests_of_one_meter(away, store, sent_by_client):
    keep(away, sent_by_client)
    there = [discharges.show_discharge(store_of(away), n).discharge.details for n in (1, 2)]
    assert there[0].meter_id == there[1].meter_id
    mine, theirs = (discharges.show_discharge(s, 5).report for s in (store, store_of(away)))
    assert theirs.verdicts[-1] == mine.verdicts[-1]
    assert theirs.meter == "shunt with display, received with Bench battery"


def test_one_that_lies_in_the_bin_is_said(away, sent):
    keep(away, sent)
    away.post("/bin/battery/1")
    answer = look(away, sent)
    assert answer.status_code == 422
    assert "lies in the bin; restore it there first" in soup(answer).select_one(".problems").text


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ("Measured 90.0 Ah", "Measured 99.0 Ah", "Each test, with its readings"),
        ("95 % interval", "99 % interval", "Bench battery"),
        ("charged full, then rested", "charged full, and rested", "15 Nov 2026, "),
        ("0 h 00 min  9.00", "0 h 00 min  9.50", "Readings"),
        ("Only a test that began full", "Any test that began full", "How to read this"),
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
    assert "the battery's protection switched it off, and the last voltage" in due


def test_a_point_that_was_moved_in_the_chart_is_found(empty, sent):
    moved = re.sub(r'(<circle cx="[\d.]+" cy=")[\d.]+', r"\g<1>1", sent, count=1)
    assert moved != sent
    row = soup(look(empty, moved)).select_one("section.preview tbody tr")
    assert "in the picture: circle" in row.text


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
    assert "The file carries 200 of 555 readings" in words
    keep(away, made_to_fit(whole, pack))
    said = soup(away.get("/discharges/1")).text
    assert "Only 40 of 121 readings came with the file" in said


def test_a_file_of_another_version_says_so_beside_its_differences(empty, client, tested):
    client.app.version = "0.9.0"
    other = client.get(f"/batteries/{tested.id}/file.html").text
    assert soup(look(empty, other)).select_one(".headline").text == "Every figure agrees."
    changed = soup(look(empty, other.replace("Measured 90.0", "Measured 91.0")))
    assert "made with Fadeline 0.9.0, which is another version" in changed.text


BAD = {
    "no file at all": (b"", "expected a file that Fadeline made to be sent"),
    "no text": (b"\xff\xd8\xff\xe0JFIF", "bytes that are no text"),
    "another text": (b"date,capacity\n2026-01-01,90", "expected a file that Fadeline made"),
    "another page": (b"<!doctype html><html><p>Hello</p></html>", "another web page"),
    "too much": (b"<!doctype html>" + b"x" * 3_000_001, "at most 3 MB"),
    "broken marks": (b"<!doctype html><html>" + b"<![" * 9, "marks that are no HTML"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_such_file_is_refused_in_one_sentence(empty, name):
    content, said = BAD[name]
    refused(empty, content, said)


def refused(browser, text, said):
    waiting = set(store_of(browser).staging.iterdir())
    answer = look(browser, text)
    assert answer.status_code == 422
    problems = soup(answer).select(".problems li")
    assert len(problems) == 1
    assert said in problems[0].text, problems[0].text
    assert holds(browser) == []
    assert set(store_of(browser).staging.iterdir()) == waiting


def test_half_a_file_is_refused(empty, sent):
    refused(empty, sent[: len(sent) // 2], "its end is missing")
    refused(empty, sent[:-20], "its end is missing")


def test_a_newer_format_is_refused(empty, sent):
    newer = sent.replace('data-fadeline-file="1"', 'data-fadeline-file="2"')
    refused(empty, newer, "2, which a newer Fadeline reads")


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
        ("datapackage.json", b'"format": 1', b'"format": 3', "which a newer Fadeline reads"),
    ],
)
def test_forged_data_are_refused_by_name(empty, sent, path, old, new, said):
    refused(empty, edited(sent, path, old, new), said)


def test_an_archive_of_all_records_is_no_such_data(empty, client, sent):
    everything = client.post("/records/export", data={}).content
    refused(empty, with_data(sent, lambda _: everything), "expected those of one battery")


def test_the_data_of_a_file_are_no_archive_of_all_records(empty, sent):
    data = base64.b64decode(ADDRESS.search(sent).group(2))
    answer = empty.post("/records/restore", files={"archive": ("x.zip", data)})
    assert answer.status_code == 422
    assert "a battery that was sent is brought in as received" in soup(answer).text


def test_data_that_unpack_to_far_too_much_are_refused(empty, sent, monkeypatch):
    monkeypatch.setattr("app.services.sent_archive.MOST_UNPACKED", 10_000)
    refused(empty, sent, "unpacked")


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


def test_a_file_that_waited_too_long_is_asked_for_once_more(away, sent):
    looked = soup(look(away, sent))
    staged = looked.select_one("input[name=staged]")["value"]
    (store_of(away).staging / staged).unlink()
    answer = away.post("/received", data={"staged": staged})
    assert answer.status_code == 422
    assert "the file once more" in soup(answer).text
    assert away.post("/received", data={"staged": "../fadeline.db"}).status_code == 422


def test_a_test_that_clashes_with_one_s_own_stores_nothing_of_the_file(
    away, client, store, tested, sent_by_client
):
    keep(away, sent_by_client)
    details = discharge_details(steady(hours=9.8, step_h=0.1), days_ago=2)
    discharges.add_discharge(store_of(away), 1, details, MeterKind.SHUNT, NOW)
    for days in (3, 2):
        details = discharge_details(steady(hours=9.8, step_h=0.1), days_ago=days)
        discharges.add_discharge(store, tested.id, details, MeterKind.SHUNT, NOW)
    answer = keep(away, client.get(f"/batteries/{tested.id}/file.html").text)
    assert answer.status_code == 422
    assert "no other test of this battery starts" in soup(answer).text
    assert len(batteries.list_batteries(store_of(away), NOW.date()).shown[0].tests) == 6


def test_a_demo_s_file_says_that_it_is_invented_when_it_is_received(away, app, client, tested):
    app.state.settings = replace(app.state.settings, demo=True)
    text = client.get(f"/batteries/{tested.id}/file.html").text
    assert "everything in it is invented" in soup(look(away, text)).text
    assert "They are invented." in soup(keep(away, text)).text


def test_a_long_name_keeps_its_mark(store):
    sent = battery_to_send(
        store,
        batteries.add_battery(store, battery_details(name="n" * 80)).id,
        NOW.date() + timedelta(days=1),
        "0.1.0",
        demo=False,
    )
    number = receiving.keep_received(store, sent, NOW)
    name = batteries.get_battery(store, number).details.name
    assert len(name) == 80
    assert name.endswith("n (received)")


def test_the_records_page_leads_to_it(client):
    assert soup(client.get("/records")).select_one("a[href='/received']")
    assert soup(client.get("/received")).select_one("input[type=file][name=file]")
