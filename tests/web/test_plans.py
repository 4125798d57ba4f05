from datetime import UTC, datetime, timedelta
from itertools import pairwise

import icalendar
import pytest

from app.web.rendering.filters import moment
from tests.german import in_german
from tests.web.conftest import soup


def test_a_plan_tells_run_time_end_and_what_it_will_show(client, tested):
    page = soup(client.get(f"/batteries/{tested.id}/plan?current_a=9"))
    text = " ".join(page.main.text.split())
    assert "Start 26 Nov 2026" in text
    assert "9 in 10, for" in text
    assert "± " in text
    assert "meter zeroed" in text


def test_without_a_test_the_label_is_taken_and_said(client, battery):
    assert "from the label alone" in client.get(f"/batteries/{battery.id}/plan?current_a=9").text


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ("current_a=0", "load current”: “0”"),
        ("current_a=", "fill in “load current”"),
        ("current_a=9&reading_every_min=0", "reading interval”: “0”"),
        ("current_a=9&start_at=soon", "start”: “soon”"),
        ("current_a=9&meter=banana", "meter”: “banana”"),
    ],
)
def test_a_refused_plan_names_the_field(client, battery, query, words):
    response = client.get(f"/batteries/{battery.id}/plan?{query}")
    assert response.status_code == 422
    assert words in soup(response).text


def test_the_day_s_calendar_is_read_by_an_independent_reader(client, tested):
    query = "current_a=9&start_at=2026-12-01T07:00"
    response = client.get(f"/batteries/{tested.id}/plan.ics?{query}")
    assert response.headers["content-type"].startswith("text/calendar")
    calendar = icalendar.Calendar.from_ical(response.content)
    events = calendar.walk("VEVENT")
    assert str(events[0]["SUMMARY"]) == "Capacity test of Bench battery: load on"
    assert len(events) > 10
    gaps = {b["DTSTART"].dt - a["DTSTART"].dt for a, b in pairwise(events[1:])}
    assert {gap.total_seconds() for gap in gaps} == {3600}
    assert all(len(line) <= 75 for line in response.content.split(b"\r\n"))


def test_the_next_test_s_calendar_falls_on_the_day_it_is_due(client, tested, battery):
    calendar = icalendar.Calendar.from_ical(client.get("/batteries/1/next-test.ics").content)
    (event,) = calendar.walk("VEVENT")
    assert event["DTSTART"].dt.date().isoformat() == "2027-02-14"


def test_an_entry_is_known_again_in_another_language(client, tested, monkeypatch):
    """RFC 5545, 3.8.4.7: the same UID is the same entry, so a second download replaces it."""
    known = {"Capacity test of {name} is due": "Test von {name} fällig"}
    in_german(monkeypatch, known)
    made = [
        icalendar.Calendar.from_ical(
            client.get("/batteries/1/next-test.ics", headers={"Accept-Language": asked}).content
        ).walk("VEVENT")[0]
        for asked in ("en", "de")
    ]
    assert str(made[1]["SUMMARY"]) == "Test von Bench battery fällig"
    assert str(made[0]["UID"]) == str(made[1]["UID"])


def test_names_with_commas_and_line_ends_do_not_break_a_calendar(client, store):
    from app.services.entities import batteries
    from tests.builders import battery_details

    batteries.add_battery(store, battery_details(name="a,b;c\\d — " + "é" * 60))
    query = "current_a=9&start_at=2026-12-01T07:00"
    content = client.get(f"/batteries/1/plan.ics?{query}").content
    event = icalendar.Calendar.from_ical(content).walk("VEVENT")[0]
    assert "a,b;c\\d — " + "é" * 60 in str(event["SUMMARY"])


def test_a_load_at_which_the_test_never_ends_is_refused(client, battery):
    for current in ("0.005", "0.00001", "1e-9"):
        for page in ("plan", "plan.ics"):
            query = f"current_a={current}&reading_every_min=1"
            response = client.get(f"/batteries/{battery.id}/{page}?{query}")
            assert response.status_code == 422
            words = "200 h at most" if current == "0.005" else "load current"
            assert words in soup(response).text
            if page == "plan":
                assert soup(response).select_one(".problems strong").text == "Nothing was planned."


def test_a_day_that_was_just_named_is_not_named_again():
    early = datetime(2026, 11, 30, 21, 1, tzinfo=UTC)
    assert moment(early + timedelta(minutes=2), early) == "21:03"
    assert moment(early + timedelta(hours=3), early) == "1 Dec 2026, 00:01"
