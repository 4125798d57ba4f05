"""The times of a running test when the clock on the wall is moved."""

from datetime import UTC, datetime, timedelta

import pytest

from tests.web.conftest import soup
from tests.web.running import START, note


def test_a_reading_of_earlier_carries_its_own_time(client, clock, run):
    note(client, run)
    clock.now = START + timedelta(hours=3)
    earlier = (START + timedelta(hours=1)).astimezone().strftime("%H:%M")
    note(client, run, clock=earlier)
    report = client.get("/api" + run).json()
    assert report["hours"] == [0, pytest.approx(1, abs=0.02)]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("9 Uhr", 9), ("09h", 9), ("9 am", 9), ("9.00 Uhr", 9), ("1 pm", 13), ("1:00 p.m.", 13)],
)
def test_a_time_is_taken_as_people_write_it(zone, client, clock, run, typed, meant):
    zone("UTC")
    clock.now = START.replace(hour=14, minute=0)
    note(client, run, clock=typed)
    assert f"{meant:02d}:00:00" in soup(client.get(run)).select_one(".readings tbody th").text


@pytest.mark.parametrize("typed", ["10", "25 Uhr", "13 pm", "0 am", "Uhr", "9:61"])
def test_what_is_no_time_of_day_is_refused(client, run, typed):
    refused = note(client, run, clock=typed)
    assert refused.status_code == 422
    assert "a time of day such as 14:30" in refused.text


@pytest.mark.parametrize("form", ["readings", "end"])
def test_a_time_that_is_still_to_come_is_not_taken_for_yesterday(client, clock, run, form):
    note(client, run)
    clock.now = START + timedelta(hours=2)
    later = (clock.now + timedelta(hours=1)).astimezone()
    field = "clock" if form == "readings" else "end_clock"
    sent = {"current_a": "9", "end_reason": "time", field: f"{later:%H:%M}"}
    page = soup(client.post(f"{run}/{form}", data=sent))
    (told,) = page.select(f"#problem-{field}")
    said = f"{later:%H:%M} is still to come: it is {clock.now.astimezone():%H:%M}."
    assert told.text == said
    assert client.get("/api" + run).json()["hours"] == [0]


def test_a_clock_set_back_an_hour_loses_nothing(client, clock, run):
    note(client, run)
    clock.now = START + timedelta(hours=2)
    note(client, run)
    # The machine's own clock is in UTC inside: what its face shows does not matter.
    clock.now = START + timedelta(hours=3)
    note(client, run)
    assert client.get("/api" + run).json()["hours"] == [0, 2, 3]


def test_a_refused_end_keeps_its_own_time_apart_from_the_next_reading(client, clock, run):
    note(client, run)
    clock.now = START + timedelta(hours=2)
    page = soup(client.post(f"{run}/end", data={"end_clock": "10:02"}))
    assert page.find(id="end_clock")["value"] == "10:02"
    assert page.find(id="clock")["value"] == ""


def test_a_first_reading_long_after_the_start_is_said(client, clock, run):
    clock.now = START + timedelta(hours=6)
    note(client, run)
    assert "long after the start" in client.get(run).text
    clock.now = START + timedelta(hours=9)
    note(client, run)
    ended = client.post(f"{run}/end", data={"end_reason": "time"})
    assert "6 h after the start" in soup(ended).text


@pytest.mark.parametrize(
    ("name", "summer_end"),
    [
        ("Europe/Berlin", datetime(2026, 10, 25, 1, tzinfo=UTC)),
        ("Australia/Sydney", datetime(2026, 4, 4, 16, tzinfo=UTC)),
    ],
)
def test_a_run_goes_by_the_clock_on_the_wall_when_that_is_set_back(
    zone, client, battery, clock, name, summer_end
):
    zone(name)
    clock.now = summer_end - timedelta(hours=5)
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    answer = client.post(f"/batteries/{battery.id}/runs", data=form, follow_redirects=False)
    run = answer.headers["location"]
    note(client, run)
    # Half past two comes twice in that night: the second time it means the second one.
    for hours in (-0.5, 0.5, 1.5):
        clock.now = summer_end + timedelta(hours=hours)
        wall = clock.now.astimezone()
        note(client, run, clock=f"{wall:%H:%M}")
    report = client.get(f"/api{run}").json()
    assert report["hours"] == pytest.approx([0, 4.5, 5.5, 6.5])
    assert f"{wall:%H:%M}:00" in client.get(run).text


def test_a_time_over_which_the_clock_was_set_forward_is_refused(zone, client, battery, clock):
    zone("Europe/Berlin")
    clock.now = datetime(2026, 3, 28, 20, tzinfo=UTC)
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    run = client.post(f"/batteries/{battery.id}/runs", data=form, follow_redirects=False).headers[
        "location"
    ]
    clock.now = datetime(2026, 3, 29, 6, tzinfo=UTC)
    refused = note(client, run, clock="02:30")
    assert refused.status_code == 422
    assert "the clock was set forward past this one" in refused.text
    note(client, run, clock="03:30")
    note(client, run, clock="01:30")
    assert client.get(f"/api{run}").json()["hours"] == pytest.approx([0, 1])


def test_a_machine_whose_clock_fell_behind_the_start_is_told_so(client, clock, run):
    note(client, run)
    clock.now = START - timedelta(days=400)
    refused = note(client, run)
    assert refused.status_code == 422
    assert "Set the clock of this machine right: it shows" in refused.text
    clock.now = START + timedelta(hours=1)
    assert note(client, run).status_code == 200


def test_an_end_outside_of_the_readings_is_refused_by_the_time_that_was_typed(client, clock, run):
    note(client, run)
    clock.now = START + timedelta(hours=2)
    note(client, run)
    typed = (START - timedelta(hours=1)).astimezone()
    page = soup(
        client.post(f"{run}/end", data={"end_reason": "time", "end_clock": f"{typed:%H:%M}"})
    )
    assert page.select_one("#problems a")["href"] == "#end_clock"
    (told,) = page.select(".off-at .problem")
    assert f"{typed:%H:%M}" in told.text
    assert f"{clock.now.astimezone():%H:%M}" in told.text


def test_a_clock_that_was_set_right_during_a_test_makes_no_test_of_years(client, clock, battery):
    """A small computer without a clock of its own begins in 1970 until it is told the time."""
    clock.now = datetime(1970, 1, 1, 0, 5, tzinfo=UTC)
    form = {"charge_condition": "full_rested", "meter": "shunt"}
    run = client.post(f"/batteries/{battery.id}/runs", data=form, follow_redirects=False).headers[
        "location"
    ]
    note(client, run)
    for hours in range(3):
        clock.now = START + timedelta(hours=hours)
        note(client, run)
    refused = client.post(f"{run}/end", data={"end_reason": "time"})
    assert refused.status_code == 422
    assert "strike out the readings that a wrong clock dated" in refused.text
    client.post(f"{run}/readings/1", data={"action": "strike", "reason": "wrong clock"})
    assert client.post(f"{run}/end", data={"end_reason": "time"}).url.path == "/discharges/1"
    archive = client.post("/records/export", data={}).content
    looked = client.post("/records/restore", files={"archive": ("all.zip", archive)})
    assert looked.status_code == 200
