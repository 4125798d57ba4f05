"""Two pages that edit one thing: the second is shown both versions and chooses."""

import pytest

from app.domain.entities.event import EventKind
from app.domain.entities.place import PlaceDetails
from app.services.entities import batteries, events, places
from tests.builders import NOW
from tests.web.conftest import refusals_of, soup
from tests.web.typed import as_sent


def form_of(client, path: str) -> dict[str, str]:
    """What a browser would send of the form of a page, as it was filled."""
    return as_sent(soup(client.get(path)).select_one("main form[method=post]"))


@pytest.fixture
def things(store, tested):
    """One of each thing that can be edited: path of its form, where it goes, a field, its page."""
    event = events.add_event(store, tested.id, NOW.date(), EventKind.REPAIR, "as it was")
    place = places.add_place(store, PlaceDetails("Shed"))
    return {
        "battery": ("/batteries/1/edit", "/batteries/1", "notes"),
        "test": ("/discharges/5/edit", "/discharges/5", "load"),
        "meter": ("/meters/1", "/meters/1", "name"),
        "place": (f"/places/{place.id}/edit", f"/places/{place.id}", "note"),
        "event": (f"/events/{event.id}/edit", f"/events/{event.id}", "note"),
    }


@pytest.mark.parametrize("thing", ["battery", "test", "meter", "place", "event"])
def test_the_second_of_two_pages_is_shown_both_and_may_store_its_own(client, things, thing):
    form, target, field = things[thing]
    one, other = form_of(client, form), form_of(client, form)
    action = {"action": "store"} if thing == "test" else {}
    assert client.post(target, data=one | {field: "from the first"} | action).status_code == 200
    typed = other | {field: "from the second"} | action

    told = client.post(target, data=typed)
    assert told.status_code == 422
    box = refusals_of(soup(told))
    assert "changed in another window" in box
    assert "“from the first” → “from the second”" in box
    assert form_of(client, form)[field] == "from the first", "nothing was stored"

    again = soup(told).select_one("main form[method=post]")
    seen = again.select_one("[name=seen]")["value"]
    assert "from the second" in str(again), "nothing typed is lost"
    assert client.post(target, data=typed | {"seen": seen}).status_code == 200
    assert form_of(client, form)[field] == "from the second"


@pytest.mark.parametrize("thing", ["battery", "test", "meter", "place", "event"])
def test_who_stores_what_is_stored_already_is_not_asked(client, things, thing):
    form, target, field = things[thing]
    one = form_of(client, form) | {field: "the same"}
    one |= {"action": "store"} if thing == "test" else {}
    for _ in range(2):
        stored = client.post(target, data=one)
        assert stored.status_code == 200
        assert "changed in another window" not in stored.text
    assert form_of(client, form)[field] == "the same"


def test_a_change_that_came_in_between_is_asked_about_again(client, things):
    form, target, field = things["battery"]
    typed = form_of(client, form) | {field: "mine"}
    client.post(target, data=form_of(client, form) | {field: "one"})
    told = client.post(target, data=typed)
    seen = soup(told).select_one("[name=seen]")["value"]
    client.post(target, data=form_of(client, form) | {field: "two"})
    assert "“two” → “mine”" in client.post(target, data=typed | {"seen": seen}).text


@pytest.mark.parametrize("seen", ["", "x", "-1", "1" * 40, "²"])
def test_a_form_that_does_not_say_what_it_has_seen_is_taken(client, store, things, seen):
    form, target, field = things["battery"]
    values = form_of(client, form) | {field: "mine", "seen": seen}
    assert client.post(target, data=values).status_code == 200
    assert batteries.get_battery(store, 1).details.notes == "mine"
