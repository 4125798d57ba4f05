"""The bin: what lies there, the way back and the way out for good."""

from datetime import date

import pytest

from app.domain.entities.event import EventKind
from app.domain.entity_kind import BINNED
from app.services.entities import batteries, discharges, events
from app.web.pages.bin import WAYS
from tests.builders import NOW, battery_details, fill_place
from tests.web.conftest import soup
from tests.web.test_history import press


@pytest.fixture
def binned(store, tested):
    """A battery with four tests in the bin, one of its tests and an event on their own."""
    events.add_event(store, tested.id, date(2026, 1, 5), EventKind.REPAIR, "")
    discharges.bin_discharge(store, 5, NOW)
    events.bin_event(store, 1, NOW)
    batteries.bin_battery(store, tested.id, NOW)
    return tested


def test_each_thing_in_the_bin_has_its_name_its_time_and_a_way_back(client, binned):
    texts = [" ".join(one.p.text.split()) for one in soup(client.get("/bin")).select(".binned li")]
    since = f"since 25 Nov 2026, {NOW.astimezone():%H:%M}"
    assert texts[0] == f"Bench battery battery with 4 capacity tests, {since}"
    assert sorted(texts[1:]) == [
        f"Bench battery, repair on 5 Jan 2026 event, {since}; its battery is in the bin too: "
        "restore that first",
        f"Bench battery, test of 15 Nov 2026, 13:00 capacity test, {since}; its battery is in "
        "the bin too: restore that first",
    ]
    page = soup(client.get("/bin"))
    back = press(client, page.select_one("form[action='/bin/battery/1/restore']"))
    assert back.url.path == "/batteries/1"
    assert press(client, page.select_one("form[action='/bin/event/1/restore']")).status_code == 200


def test_the_page_before_removal_names_what_goes_and_the_button_removes_it(client, binned):
    link = soup(client.get("/bin")).select_one("a[href='/bin/battery/1/remove']")
    page = soup(client.get(link["href"]))
    assert [one.text for one in page.main.select("li")] == ["5 capacity tests", "1 event"]
    assert "cannot be undone" in page.main.text
    after = press(client, page.main.form)
    assert after.url.path == "/bin"
    assert "The bin is empty." in after.text
    assert press(client, page.main.form).status_code == 404


def test_asking_removes_nothing(client, binned):
    client.get("/bin/battery/1/remove")
    client.head("/bin/battery/1/remove")
    assert "Bench battery" in client.get("/bin").text


def test_a_removal_without_what_was_seen_is_asked_again(client, binned):
    answer = client.post("/bin/battery/1/remove")
    assert answer.status_code == 409
    assert soup(answer).select_one(".problems strong").text == "Nothing was removed."
    assert press(client, soup(answer).main.form).url.path == "/bin"


def test_a_thing_that_was_restored_meanwhile_is_not_removed(client, store, binned):
    form = soup(client.get("/bin/battery/1/remove")).main.form
    client.post("/bin/battery/1/restore")
    answer = press(client, form)
    assert answer.status_code == 409
    assert "it was restored" in answer.text
    assert batteries.get_battery(store, 1)


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("/bin/meter/1", "There is nothing called “meter” in the bin."),
        ("/bin/battery/99", "There is no battery 99 any more."),
        ("/bin/x/1", "There is nothing called “x” in the bin."),
        (
            "/bin/battery/x",
            "There is no such page. Check the address, or start from the list of batteries.",
        ),
    ],
)
def test_what_is_not_in_the_bin_cannot_be_removed(client, binned, path, words):
    for answer in (client.get(f"{path}/remove"), client.post(f"{path}/remove")):
        assert answer.status_code == 404
        assert words in soup(answer).main.text


def test_every_kind_has_a_way_there_and_back():
    assert set(WAYS) == set(BINNED)


def test_what_belongs_to_a_place_goes_to_the_bin_and_back(client, store):
    fill_place(store, batteries.add_battery(store, battery_details()).id)
    for kind, home in (("temperature_log", "/places/1"), ("stay", "/batteries/1/heat")):
        answer = client.post(f"/bin/{kind}/1")
        assert answer.url.path == home
        assert "was moved to the bin" in answer.text
        assert client.get("/bin").text.count("Remove for good") == 1
        assert client.post(f"/bin/{kind}/1/restore").url.path == home
    refused = client.post("/bin/place/1")
    assert refused.status_code == 422
    assert "a place that no battery has stayed at" in refused.text
    client.post("/bin/stay/1")
    assert client.post("/bin/place/1").url.path == "/places"
    seen = soup(client.get("/bin/place/1/remove"))
    assert "3 days of temperatures" in seen.get_text()
