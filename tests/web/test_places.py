from datetime import timedelta

import pytest
from bs4 import BeautifulSoup

from app.services.entities import batteries, places
from app.services.reports import heat
from tests.builders import NOW, battery_details
from tests.web.auth_client import refusals_of, soup

TODAY = NOW.date()
SUMMER = {"from_0": "4", "to_0": "9", "night_0": "18", "day_0": "34,5"}


def add(client, **form):
    return client.post("/places", data={"name": "locker", "unit": "c", **form})


def log_file(values, begin="2026-05-01", heading="time,temp °C"):
    rows = [f"{begin} {h % 24:02d}:00:00,{v}" for h, v in enumerate(values)]
    return ("log.csv", "\n".join([heading, *rows]).encode(), "text/csv")


def problems(answer):
    return refusals_of(soup(answer))


@pytest.fixture
def place(store, client):
    add(client)
    (view,) = places.list_places(store)
    return view.place


def test_a_place_is_typed_by_seasons_and_shown(client):
    answer = add(client, **SUMMER)
    assert answer.status_code == 200
    text = soup(answer).get_text(" ")
    assert "April to September" in text
    assert "34.5 °C" in text
    assert "Missing: January, February, March, October, November, December" in text


def test_there_are_as_many_rows_for_seasons_as_are_wanted(client, store):
    def rows(page):
        return len(page.select("table.seasons tbody tr"))

    assert rows(soup(client.get("/places/new"))) == 4
    fourth = {name.replace("_0", "_3"): value for name, value in SUMMER.items()}
    page = soup(add(client, **fourth, action="more_rows"))
    assert (rows(page), page.select("[value=more_rows]")) == (12, [])
    assert page.find(id="night_3")["value"] == SUMMER["night_0"]
    assert page.select_one("details:has(.seasons)").get("open") is not None
    assert places.list_places(store) == []
    add(client, **fourth)
    # What is stored comes first, and two rows more.
    assert rows(soup(client.get("/places/1/edit"))) == 4
    assert rows(soup(add(client, **fourth, name=""))) == 6


def test_enter_stores_a_place_and_does_not_ask_for_rows(client):
    first = soup(client.get("/places/new")).select_one("main form button")
    assert first.get("name") is None


def test_fahrenheit_is_taken_as_such(client, store):
    add(client, unit="f", **{**SUMMER, "night_0": "68", "day_0": "95"})
    (view,) = places.list_places(store)
    assert (view.place.details.seasons[0].night_c, view.place.details.seasons[0].day_c) == (20, 35)


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({**SUMMER, "day_0": "95"}, "95 °F would be 35 °C"),
        ({**SUMMER, "day_0": "hot"}, "season 1, warmest of the day”: “hot”"),
        ({**SUMMER, "night_0": "40"}, "at most the warmest, 34,5"),
        ({**SUMMER, "to_0": "13"}, "a month, 1 to 12"),
        ({**SUMMER, "to_0": ""}, "fill in “season 1, last month”"),
        (
            {**SUMMER, "from_1": "9", "to_1": "3", "night_1": "0", "day_1": "9"},
            "season 2, months”: “month 9”",
        ),
        ({"temperature_0": "20", "hours_0": "9000"}, "above 0 and up to 8784 h"),
        (
            {"temperature_0": "20", "hours_0": "5000", "temperature_1": "30", "hours_1": "4000"},
            "hours of the year together”: “9000 h”",
        ),
        ({**SUMMER, "temperature_0": "20", "hours_0": "100"}, "contradict each other"),
        ({"temperature_0": "20"}, "fill in “row 1, hours a year”"),
        ({"name": ""}, "fill in “name”"),
    ],
)
def test_what_cannot_be_is_named_and_stays_typed(client, store, form, words):
    answer = add(client, **form)
    assert answer.status_code == 422
    assert words in problems(answer)
    assert places.list_places(store) == []
    page = BeautifulSoup(answer.text, "html.parser")
    for name, value in form.items():
        field = page.find(attrs={"name": name})
        chosen = field.select_one("option[selected]") if field.name == "select" else None
        if field.name == "select":
            assert value in ("13", "") or chosen["value"] == value
        else:
            assert field["value"] == value


def test_a_place_is_edited_with_what_it_holds(client, store):
    add(client, **SUMMER)
    page = BeautifulSoup(client.get("/places/1/edit").text, "html.parser")
    assert page.find(id="day_0")["value"] == "34.5"
    answer = client.post("/places/1", data={"name": "box", "unit": "c"})
    assert answer.status_code == 200
    assert places.show_place(store, 1).place.details.seasons == ()


def test_a_log_is_looked_at_before_it_is_stored(client, store, place):
    answer = client.post(f"/places/{place.id}/temperatures", files={"file": log_file([20.5] * 24)})
    assert answer.status_code == 200
    assert "24 temperatures from 1 May 2026, 00:00" in soup(answer).text
    assert places.show_place(store, place.id).logs == ()
    page = BeautifulSoup(answer.text, "html.parser")
    form = {one["name"]: one["value"] for one in page.select("input[type=hidden]")}
    stored = client.post(f"/places/{place.id}/temperatures", data={**form, "action": "store"})
    assert stored.url.path == f"/places/{place.id}"
    (log,) = places.show_place(store, place.id).logs
    assert log.source == "log.csv"
    assert log.first_day.isoformat() == "2026-05-01"


def send(client, place, values, answers=None, **how):
    """Look at a file, then store it with these answers."""
    where = f"/places/{place.id}/temperatures"
    seen = client.post(where, files={"file": log_file(values, **how)}, data=answers or {})
    page = BeautifulSoup(seen.text, "html.parser")
    form = {one["name"]: one["value"] for one in page.select("input[type=hidden]")}
    return client.post(where, data={**form, **(answers or {}), "action": "store"})


def test_an_open_question_stores_nothing(client, store, place):
    answer = send(client, place, [20.0, 85.0, 21.0])
    assert answer.status_code == 422
    assert "failed sensors send 85 and −127" in problems(answer)
    assert places.show_place(store, place.id).logs == ()
    answer = send(client, place, [20.0, 85.0, 21.0], {"leave_out_impossible": "on"})
    assert answer.status_code == 200
    assert len(places.show_place(store, place.id).logs) == 1


def test_hours_known_twice_are_asked(client, store, place):
    send(client, place, [20.0, 21.0] * 12)
    answer = send(client, place, [30.0, 31.0] * 12)
    assert answer.status_code == 422
    assert "“log.csv” already holds 24 of these hours; 24 of them differ" in problems(answer)
    assert send(client, place, [30.0, 31.0] * 12, {"overlap": "older"}).status_code == 200
    assert [log.gives_way for log in places.show_place(store, place.id).logs] == [False, True]


def test_hours_known_twice_and_the_same_are_said_to_be_so(client, place):
    send(client, place, [20.0, 21.0] * 12)
    answer = send(client, place, [20.0, 21.0] * 12)
    assert "24 of these hours, and they are the same within 1 K" in problems(answer)


def test_a_log_of_the_future_is_refused(client, store, place):
    answer = send(client, place, [20.0, 21.0] * 12, begin="2027-05-01")
    assert answer.status_code == 422
    assert "1970 to today" in problems(answer)
    assert places.show_place(store, place.id).logs == ()


@pytest.mark.parametrize(
    "data", [b"", b"\0\0\0", b"no table at all", b"time,temp\n1,2\n", b"\xff\xfe\x00"]
)
def test_a_file_that_is_no_log_is_a_sentence(client, store, place, data):
    answer = client.post(f"/places/{place.id}/temperatures", files={"file": ("a.bin", data)})
    assert answer.status_code == 422
    assert problems(answer)
    assert places.show_place(store, place.id).logs == ()


def test_no_file_and_a_file_that_waits_no_longer_are_sentences(client, place):
    where = f"/places/{place.id}/temperatures"
    assert "Choose the file of a logger with temperatures." in problems(client.post(where))
    gone = client.post(where, data={"staged": "x" * 24, "action": "store"})
    assert "a preview that is no longer there" in problems(gone)
    climbing = client.post(where, data={"staged": "../fadeline.db"})
    assert "a preview that is no longer there" in problems(climbing)


def test_a_battery_is_said_to_be_at_a_place(client, store, place):
    battery = batteries.add_battery(store, battery_details())
    since = str(TODAY - timedelta(days=100))
    where = f"/batteries/{battery.id}/stays"
    answer = client.post(where, data={"place_id": str(place.id), "from_date": since})
    assert answer.url.path == f"/batteries/{battery.id}/heat"
    assert [s.place for s in heat.show_heat(store, battery.id, TODAY).report.stretches] == [
        "locker"
    ]
    for form, words in (
        ({"place_id": str(place.id), "from_date": since}, "no other stay begins"),
        ({"place_id": "99", "from_date": str(TODAY)}, "one of your places"),
        ({"place_id": str(place.id), "from_date": "2050-01-01"}, "to today"),
        ({"place_id": str(place.id)}, "fill in “first day there”"),
    ):
        answer = client.post(where, data=form)
        assert answer.status_code == 422
        assert words in problems(answer)


def test_the_heat_page_answers_with_and_without_anything_known(client, store, place):
    battery = batteries.add_battery(store, battery_details())
    page = client.get(f"/batteries/{battery.id}/heat")
    assert "Fadeline does not know yet how warm it is" in page.text
    assert client.get(f"/api/batteries/{battery.id}/heat").json()["factor"] is None
    assert client.get("/batteries/99/heat").status_code == 404
