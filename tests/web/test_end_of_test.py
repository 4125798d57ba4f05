"""The end of a test by the clock: “Off at 18:12” instead of hours."""

import pytest

from app.services.entities import discharges
from tests.builders import NOW
from tests.web.conftest import soup
from tests.web.typed import CONDITIONS, as_sent, chosen, post_test

HOUR = 3600


def ended_h(store, number=1):
    return discharges.show_discharge(store, number).discharge.details.ended_after_h


def changed(client, store, **values):
    """The first test, edited as a browser does it."""
    form = as_sent(soup(client.get("/discharges/1/edit")).select_one("form.entry"))
    answer = client.post(
        "/discharges/1", data=form | values | {"action": "store"}, follow_redirects=False
    )
    assert answer.status_code == 303
    return ended_h(store)


def test_readings_that_fadeline_wrote_come_back_with_their_day_and_their_end(
    client, battery, store
):
    post_test(client, battery, start_time="08:30", off_at="18:42")
    before = discharges.show_discharge(store, 1).discharge.details
    table = client.get("/discharges/1/readings.csv").text
    discharges.bin_discharge(store, 1, NOW)
    again = CONDITIONS | {"pasted": table, "day": "", "start_time": "", "action": "store"}
    path = f"/batteries/{battery.id}/discharges"
    answer = client.post(path, data=again, follow_redirects=False)
    assert answer.status_code == 303, answer.text
    after = discharges.show_discharge(store, 2).discharge.details
    assert after.started_at == before.started_at
    assert after.ended_after_h == before.ended_after_h
    assert after.readings.elapsed_s == before.readings.elapsed_s
    said = " ".join(after.assumptions)
    assert "“ended_after_h”: the test ended 10.2 hours after its start." in said
    wrong = client.post(path, data=again | {"day": "2024-01-02", "start_time": "08:30"})
    assert "The readings begin on " in wrong.text
    discharges.bin_discharge(store, 2, NOW)
    typed = client.post(path, data=again | {"ended_after_h": "10.4"}, follow_redirects=False)
    assert typed.status_code == 303
    assert ended_h(store, 3) == 10.4


@pytest.mark.parametrize(
    ("start", "off_at", "hours"),
    [("08:30", "18:42", 10.2), ("08:30", "18:20", 9.83333), ("20:30", "06:45", 10.25)],
)
def test_a_clock_time_is_the_one_nearest_to_the_last_reading(
    client, battery, store, start, off_at, hours
):
    post_test(client, battery, start_time=start, off_at=off_at)
    assert ended_h(store) == pytest.approx(hours, abs=1e-4)


def test_it_stands_in_the_edit_again_and_unchanged_stores_the_same(client, battery, store):
    post_test(client, battery, off_at="18:42")
    form = soup(client.get("/discharges/1/edit"))
    assert chosen(form, "off_at") == "18:42"
    before = ended_h(store)
    assert changed(client, store) == before


def test_a_time_with_seconds_can_be_sent_again(client, battery):
    """A browser sends a field of a time only where its step allows the seconds."""
    post_test(client, battery, start_time="08:30:15", ended_after_h="9.8331")
    form = soup(client.get("/discharges/1/edit"))
    for name, shown in (("start_time", "08:30:15"), ("off_at", "18:20:14")):
        field = form.find(id=name)
        assert (field["value"], field["step"]) == (shown, "1")
    assert (
        not soup(client.get(f"/batteries/{battery.id}/discharges/new"))
        .find(id="off_at")
        .get("step")
    )


def test_what_was_changed_in_an_edit_counts(client, battery, store):
    post_test(client, battery, off_at="18:42")
    assert changed(client, store, off_at="18:30") == 10
    assert changed(client, store, ended_after_h="10.5") == 10.5
    # The clock time stays where the start is moved.
    assert changed(client, store, start_time="09:00") == 10


def test_hours_alone_are_taken_as_ever(client, battery, store):
    post_test(client, battery, ended_after_h="10.1")
    assert ended_h(store) == 10.1


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"off_at": "25:00"}, "off_at"),
        ({"off_at": "soon"}, "off_at"),
        ({"off_at": "18:42", "ended_after_h": "11"}, "ended_after_h"),
    ],
)
def test_what_cannot_be_or_contradicts_itself_is_refused(client, battery, values, field):
    refused = post_test(client, battery, **values)
    assert refused.status_code == 422
    assert soup(refused).select_one(f"#problems a[href='#{field}']")


def test_an_end_outside_of_the_readings_is_refused_at_the_field_that_was_typed(
    client, battery, store
):
    refused = post_test(client, battery, start_time="08:30", off_at="07:00")
    (problem,) = soup(refused).select("#problems a")
    assert problem["href"] == "#off_at"
    assert "a moment under load" in soup(refused).select_one("#problem-off_at").text
    post_test(client, battery, off_at="18:42")
    form = as_sent(soup(client.get("/discharges/1/edit")).select_one("form.entry"))
    for typed, field in (
        ({"off_at": "07:00"}, "off_at"),
        ({"ended_after_h": "23"}, "ended_after_h"),
    ):
        refused = client.post("/discharges/1", data=form | typed | {"action": "store"})
        assert soup(refused).select_one("#problems a")["href"] == f"#{field}"


def test_both_may_be_given_where_they_agree(client, battery, store):
    post_test(client, battery, off_at="18:42", ended_after_h="10.2")
    assert ended_h(store) == pytest.approx(10.2)


@pytest.mark.parametrize("way", ["typed", "result"])
def test_the_way_of_the_last_test_is_taken_up_again(client, battery, way):
    result = {"counted_ah": "98.4", "way": "result"} if way == "result" else {}
    rows = {"rows": []} if result else {}
    post_test(client, battery, **rows, **result)
    form = soup(client.get(f"/batteries/{battery.id}/discharges/new"))
    assert chosen(form, "way") == way
    assert "As in the test of 1 Nov 2026." in form.find(id="hint-way").text
    asked = soup(client.get(f"/batteries/{battery.id}/discharges/new?way=file"))
    assert chosen(asked, "way") == "file"


def test_the_preview_names_what_is_added_for_an_end_that_nobody_noted(client, battery):
    rows = [(f"{h}:00", "9", "", "", "") for h in range(11)]
    reasons = soup(post_test(client, battery, "check", rows)).select_one(".preview .reasons")
    # Half of the hour after the last reading.
    assert (
        "+4.50 Ah for the moment of the end (not noted: some time after the last reading)."
        in " ".join(reasons.text.split())
    )
    noted = soup(post_test(client, battery, "check", rows, off_at="18:42"))
    assert "for the moment of the end" not in noted.select_one(".preview").text


def test_what_is_added_is_written_as_its_reader_writes_numbers(client, battery):
    rows = [(f"{h}:00", "9", "", "", "") for h in range(11)]
    client.headers["accept-language"] = "de"
    page = soup(post_test(client, battery, "check", rows))
    assert "+4,50 Ah für den Zeitpunkt" in page.select_one(".preview").text.replace("\u00a0", " ")
