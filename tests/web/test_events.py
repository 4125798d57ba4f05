"""Events of a battery: put on its time axis, edited, refused where they cannot be."""

from datetime import date

import pytest

from app.domain.entities.event import EventKind
from app.services.access import shares
from app.services.entities import batteries, events
from app.storage.schema.packing import unpack_row
from tests.builders import NOW, battery_details
from tests.web.conftest import refusals_of, soup

TODAY = NOW.date()
MOVED = {"on_date": "2026-05-01", "kind": "moved", "note": "to the shade"}


@pytest.fixture
def moved(store, tested):
    return events.add_event(store, tested.id, date(2026, 5, 1), EventKind.MOVED, "to the shade")


@pytest.fixture
def in_service(store):
    return batteries.add_battery(store, battery_details(in_service_since=date(2025, 3, 1)))


def of(store, battery):
    return batteries.show_battery(store, battery.id, TODAY).report.events


def refusal(response):
    assert response.status_code == 422
    page = soup(response)
    return refusals_of(page), page


@pytest.mark.parametrize("kind", list(EventKind))
def test_every_kind_of_event_can_be_added_and_is_named_in_the_chart(client, store, tested, kind):
    client.post(f"/batteries/{tested.id}/events", data=MOVED | {"kind": kind.value})
    page = soup(client.get(f"/batteries/{tested.id}"))
    assert kind.label in page.select_one("section[aria-labelledby=events-title] li").text
    figure = client.get(f"/batteries/{tested.id}?chart=fade.json").json()
    named = [one["text"] for one in figure["layout"]["annotations"] if one.get("name") == "event"]
    assert named == [kind.label]


def test_events_stand_between_the_tests_in_the_table(client, tested, moved):
    page = soup(client.get(f"/batteries/{tested.id}"))
    rows = page.select("section > .scroll tbody tr")
    words = [" ".join(row.stripped_strings) for row in rows]
    assert words.index("1 May 2026 moved") == 1
    assert words[0].startswith("15 Nov 2026")
    assert words[2].startswith("15 Nov 2025")


def test_events_before_the_first_and_on_the_day_of_a_test_stand_once(client, store, tested):
    for day in (date(2020, 1, 1), date(2025, 11, 15), TODAY):
        events.add_event(store, tested.id, day, EventKind.REPAIR, "")
    rows = soup(client.get(f"/batteries/{tested.id}")).select(".newest tr.happened th")
    assert [row.text for row in rows] == ["25 Nov 2026", "15 Nov 2025", "1 Jan 2020"]


def test_a_shared_page_shows_events_in_the_table_without_their_notes(client, store, tested, moved):
    share = shares.share_battery(store, tested.id, "", None, NOW)
    page = soup(client.get(f"/shared/{share.token}"))
    assert page.select_one("tr.happened td").text == "moved"
    assert "to the shade" not in page.text


def test_the_form_shows_an_event_as_it_is(client, moved):
    page = soup(client.get(f"/events/{moved.id}/edit"))
    assert page.select_one("#on_date")["value"] == "2026-05-01"
    assert page.select_one("#kind option[selected]")["value"] == "moved"
    assert page.select_one("#note")["value"] == "to the shade"


def test_a_new_meter_is_said_to_be_for_the_owner_alone(client, moved):
    hint = soup(client.get(f"/events/{moved.id}/edit")).select_one("#hint-kind").text
    assert "a reminder for you" in hint
    assert "named with each test" in hint


def test_an_edit_is_stored_and_keeps_what_it_replaced(client, store, tested, moved):
    sent = {"on_date": "2026-04-30", "kind": "long_trip", "note": "over the pass"}
    answer = client.post(f"/events/{moved.id}", data=sent, follow_redirects=False)
    path = f"/batteries/{tested.id}?done=edit.event.{moved.id}.1"
    assert answer.headers["location"] == path
    (event,) = of(store, tested)
    assert (event.on_date, event.kind, event.note) == (
        date(2026, 4, 30),
        EventKind.LONG_TRIP,
        "over the pass",
    )
    with store.engine.connect() as connection:
        query = "SELECT thing, thing_id, version, before FROM revision"
        ((*kept, before),) = connection.exec_driver_sql(query).all()
        (version,) = connection.exec_driver_sql("SELECT version FROM event").one()
    assert (kept, version) == (["event", moved.id, 1], 2)
    before = unpack_row(before)
    assert (before["on_date"], before["kind"], before["note"]) == tuple(MOVED.values())


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        (
            {"on_date": "2026-11-26"},
            "date of the event”: “2026-11-26” does not fit. It needs a day that is not in the "
            "future, so a date from",
        ),
        (
            {"on_date": "1969-12-31"},
            "“1969-12-31” does not fit. It needs a date from 1 Jan 1970 to today",
        ),
        ({"on_date": "soon"}, "date of the event”: “soon”"),
        ({"on_date": ""}, "fill in “date of the event”"),
        (
            {"kind": "party"},
            "kind of event”: “party” does not fit. It needs one of: moved; deep discharge",
        ),
        ({"note": "n" * 401}, "It needs at most 400 characters (these are 401)"),
    ],
)
@pytest.mark.parametrize("place", ["/batteries/1/events", "/events/1"])
def test_a_refusal_names_field_value_and_range_and_keeps_what_was_typed(
    client, store, tested, moved, wrong, said, place
):
    sent = {"on_date": "2026-06-01", "kind": "repair", "note": "a new fuse"} | wrong
    words, page = refusal(client.post(place, data=sent))
    assert said in words
    assert page.select_one("#note")["value"] == sent["note"]
    assert page.select_one("#on_date")["value"] == sent["on_date"]
    assert of(store, tested) == (moved,)


def test_an_event_before_the_battery_s_service_is_refused(client, store, in_service):
    place = f"/batteries/{in_service.id}/events"
    words, page = refusal(client.post(place, data=MOVED | {"on_date": "2025-02-28"}))
    assert (
        "date of the event”: “2025-02-28” does not fit. It needs a date from 1 Mar 2025 on" in words
    )
    assert page.select_one("#problem-on_date")
    assert of(store, in_service) == ()
    client.post(place, data=MOVED | {"on_date": "2025-03-01"})
    (event,) = of(store, in_service)
    refusal(client.post(f"/events/{event.id}", data=MOVED | {"on_date": "2025-02-28"}))
    assert of(store, in_service) == (event,)


def test_every_problem_is_told_at_once(client, tested):
    sent = {"on_date": "2030-01-01", "kind": "moved", "note": "n" * 401}
    words, _ = refusal(client.post(f"/batteries/{tested.id}/events", data=sent))
    assert "2030-01-01" in words
    assert "401" in words


def test_an_event_in_the_bin_or_of_a_battery_there_cannot_be_edited(client, store, tested, moved):
    events.bin_event(store, moved.id, NOW)
    place = f"/events/{moved.id}"
    for answer in (client.get(f"{place}/edit"), client.post(place, data=MOVED)):
        assert answer.status_code == 404
        assert f"There is no event {moved.id}; it may be in the bin." in answer.text
    events.restore_event(store, moved.id)
    batteries.bin_battery(store, tested.id, NOW)
    answer = client.post(place, data=MOVED)
    assert answer.status_code == 404
    assert "it may be in the bin." in answer.text


def test_an_event_is_put_on_the_axis_and_into_the_bin(client, battery):
    event = {"on_date": "2026-05-01", "kind": "moved", "note": "to the shade"}
    page = soup(client.post(f"/batteries/{battery.id}/events", data=event))
    assert "to the shade" in page.text
    assert client.post(f"/batteries/{battery.id}/events", data={}).status_code == 422
    page = soup(client.post("/bin/event/1"))
    assert "to the shade" not in page.text


def test_a_form_that_is_sent_twice_makes_one_event(client, store, tested):
    for note in ("to the shade", "to the shade", "and back"):
        client.post(f"/batteries/{tested.id}/events", data=MOVED | {"note": note})
    assert [one.note for one in of(store, tested)] == ["to the shade", "and back"]
