"""A test is carried from its start to its result, reading by reading."""

import math
from datetime import timedelta

import pytest

from tests.web.conftest import soup
from tests.web.running import START, note
from tests.web.test_counter_in_forms import stored


def test_the_list_says_on_top_how_a_running_test_stands_and_when_to_read_next(
    client, clock, run, battery
):
    clock.now = START
    note(client, run, voltage_v="13.2")
    clock.now = START + timedelta(hours=1)
    note(client, run, voltage_v="13.1")
    clock.now += timedelta(minutes=42)
    page = soup(client.get("/"))
    told = page.select_one(".running")
    text = " ".join(told.text.replace("\u00a0", " ").split())
    assert f"{battery.details.name}, 9.0 Ah so far" in text
    assert "in 18 min" in text
    assert told["data-run"] == f"/api{run}/state"
    assert told.select_one(".button")["href"] == run
    assert page.main.index(told) < page.main.index(page.select_one(".cards"))
    # One that runs is not begun a second time.
    assert not page.select(".card .button")
    clock.now += timedelta(minutes=40)
    assert "A reading is overdue." in client.get("/").text


def test_beyond_what_was_expected_no_end_is_named(client, clock, run):
    clock.now = START
    note(client, run, voltage_v="13.2")
    for hours, said in ((1, "Expected end"), (30, "More has come out than was expected")):
        clock.now = START + timedelta(hours=hours)
        note(client, run, voltage_v="13.0")
        assert said in soup(client.get(run)).main.text


def test_without_a_reading_it_says_when_it_began(client, clock, run):
    """Nothing was counted yet: no figure of it is shown."""
    for path in ("/batteries", run):
        said = soup(client.get(path)).select_one(".headline").text.strip()
        assert said == f"Started at {START.astimezone():%H:%M}, no reading yet", path
    clock.now += timedelta(days=1)
    assert "Started at 2" in soup(client.get(run)).select_one(".headline").text
    note(client, run)
    assert "no reading yet" not in client.get(run).text


def test_a_running_test_of_a_battery_in_the_bin_is_not_in_the_list(client, run, battery):
    client.post(f"/bin/battery/{battery.id}")
    assert not soup(client.get("/")).select(".running")


def test_a_day_is_carried_from_start_to_result(client, clock, run, battery):
    assert "Test running" in client.get("/").text
    assert "A test of this battery is running" in client.get(f"/batteries/{battery.id}").text
    for hour in range(10):
        clock.now = START + timedelta(hours=hour)
        assert note(client, run, voltage_v=f"{13.2 - hour / 20:.2f}").status_code == 200
    page = soup(client.get(run))
    assert "81.0 Ah so far" in page.select_one(".headline").text
    figure = client.get(run + page.select_one("[data-chart]")["data-chart"]).json()
    counted = next(trace for trace in figure["data"] if trace["name"] == "counted")
    # 9 A in each of nine hours.
    assert counted["y"] == [9.0 * hour for hour in range(10)]
    # A typical shunt: 1 % of 81 Ah, 0.05 A zero point and half of 0.1 A for 9 h, each a rectangle.
    whole = 1.96 * math.sqrt(0.81**2 + 0.45**2 + 0.45**2) / math.sqrt(3)
    said = float(page.select_one(".headline + .hint").text.split()[1])
    assert said == pytest.approx(whole, rel=0.06)
    assert "Expected end: " in page.main.text
    assert "9 in 10 such tests end between " in " ".join(page.main.text.split())
    clock.now = START + timedelta(hours=9.7)
    note(client, run, voltage_v="10.4")
    response = client.post(f"{run}/end", data={"end_reason": "protection"})
    # 9 A for 9.7 h, and half of the 0.45 Ah that may have been left at 10.4 V.
    assert "Measured 87.5 Ah" in soup(response).select_one(".headline").text
    assert "It became a" in client.get(run).text


def test_a_refused_reading_keeps_what_was_typed(client, run):
    response = note(client, run, voltage_v="thirteen", clock="25:99")
    assert response.status_code == 422
    page = soup(response)
    assert len(page.select(".problems li")) == 2
    assert page.find(id="voltage_v")["value"] == "thirteen"


def test_readings_are_corrected_struck_out_and_taken_back(client, clock, run):
    note(client, run)
    clock.now += timedelta(hours=1)
    note(client, run)
    client.post(f"{run}/readings/2", data={"action": "correct", "current_a": "10"})
    assert client.get("/api" + run).json()["counted_ah"] == pytest.approx(9.5)
    typed = {"action": "correct", "current_a": "11,x", "voltage_v": "12.77"}
    page = soup(client.post(f"{run}/readings/2", data=typed))
    form = page.select_one("details[open] form")
    shown = form.select("input:not([type=hidden])")[:2]
    assert [one["value"] for one in shown] == ["11,x", "12.77"]
    response = client.post(f"{run}/readings/2", data={"action": "strike", "reason": ""})
    assert "fill in “reason”" in response.text
    client.post(f"{run}/readings/2", data={"action": "strike", "reason": "misread"})
    assert client.get("/api" + run).json()["counted_ah"] == 0
    client.post(f"{run}/readings/2", data={"action": "back"})
    assert client.get("/api" + run).json()["counted_ah"] == pytest.approx(9.5)


def test_what_a_corrected_reading_said_before_stands_on_the_page(client, clock, run):
    note(client, run)
    clock.now += timedelta(hours=3, minutes=20)
    note(client, run, voltage_v="12.0")
    assert "Earlier values" not in client.get(run).text
    change = {"action": "correct", "current_a": "9", "voltage_v": "12.9"}
    client.post(f"{run}/readings/2", data=change)
    client.post(f"{run}/readings/2", data=change | {"temperature_c": "21"})
    client.post(f"{run}/readings/2", data={"action": "strike", "reason": "misread"})
    client.post(f"{run}/readings/2", data={"action": "back"})
    lines = [line.text.split(" (")[0] for line in soup(client.get(run)).select("details > ul li")]
    assert lines == [
        "at 3 h 20 min: 12.9 V, was 12 V",
        "at 3 h 20 min: 21.0 °C, was no temperature",
        "at 3 h 20 min: struck out: misread",
        "at 3 h 20 min: counts again, was struck out: misread",
    ]


def test_a_reading_that_was_moved_says_where_it_stood(client, clock, run):
    note(client, run)
    clock.now += timedelta(hours=2)
    note(client, run)
    stood, moved = ((clock.now - timedelta(minutes=m)).astimezone() for m in (0, 30))
    change = {"action": "correct", "current_a": "9", "voltage_v": "13.1"}
    client.post(f"{run}/readings/2", data=change | {"clock": f"{moved:%H:%M:%S}"})
    (line,) = soup(client.get(run)).select("details > ul li")
    assert f"read at {moved:%H:%M:%S}, was {stood:%H:%M:%S}" in line.text
    assert line.text.startswith("at 1 h 30 min:")


def test_the_last_reading_stands_below_each_field_with_its_unit(client, run):
    note(client, run, voltage_v="13,2", temperature_c="21", gauge_percent="80", counted_ah="4,5")
    page = soup(client.get(run))
    said = {
        name: page.find(id=f"hint-{name}").text.replace("\N{NO-BREAK SPACE}", " ")
        for name in ("current_a", "voltage_v", "temperature_c", "gauge_percent", "counted_ah")
    }
    assert list(said.values()) == [
        "last 9.00 A",
        "last 13.20 V",
        "last 21.0 °C",
        "last 80 %",
        "last 4.50 Ah",
    ]


def test_a_run_can_be_given_up_and_keeps_its_readings(client, run, battery):
    note(client, run)
    page = soup(client.post(f"{run}/abandon"))
    assert "given up" in page.main.text
    begun = START.astimezone()
    assert f"Started {begun.day} {begun:%b %Y, %H:%M}." in page.main.text
    assert len(page.select("section > .scroll tbody tr")) == 1
    assert "Tests given up:" in client.get(f"/batteries/{battery.id}").text


def test_a_run_that_was_given_up_can_be_taken_up_again(client, clock, battery, run):
    note(client, run)
    page = soup(client.post(f"{run}/abandon"))
    assert "given up" in page.text
    other = client.post(
        f"/batteries/{battery.id}/runs",
        data={"charge_condition": "full_rested", "meter": "shunt"},
        follow_redirects=False,
    ).headers["location"]
    refused = client.post(f"{run}/resume")
    assert refused.status_code == 422
    assert "End the running test first, or give it up: it began on" in refused.text
    client.post(f"{other}/abandon")
    page = soup(client.post(f"{run}/resume"))
    assert page.h1.text == "Running test"
    assert client.get(f"/api{run}/state").json() == {
        "state": "running",
        "readings": 1,
        "phones": 0,
    }


def test_two_devices_in_the_same_second_are_two_readings(client, clock, run):
    assert note(client, run, current_a="9.0", voltage_v="13.2").status_code == 200
    assert note(client, run, current_a="9.1", voltage_v="13.1").status_code == 200
    assert note(client, run, current_a="9.1", voltage_v="13.1").status_code == 200
    assert client.get(f"/api{run}/state").json()["readings"] == 2
    wall = clock.now.astimezone()
    refused = note(client, run, current_a="9.3", clock=f"{wall:%H:%M:%S}")
    assert refused.status_code == 422, "a time that was typed is meant"


def test_a_counter_that_is_noted_counts_when_the_test_has_ended(client, store, clock, run):
    """It saw 10 A between readings of 9 A: 30 Ah in three hours, not 27."""
    for hour in range(4):
        clock.now = START + timedelta(hours=hour)
        page = soup(note(client, run, voltage_v="13", counted_ah=f"{100 + 10 * hour}"))
    assert page.select_one("details[data-stays][open] #counted_ah")
    assert "130.00 Ah" in page.select_one("table.readings tbody tr").text
    change = {"action": "correct", "current_a": "9", "voltage_v": "13", "counted_ah": "129"}
    corrected = client.post(f"{run}/readings/4", data=change)
    assert "129 Ah counted, was 130 Ah counted" in soup(corrected).text
    client.post(f"{run}/readings/4", data=change | {"counted_ah": "130"})
    client.post(f"{run}/end", data={"end_reason": "time"})
    assert stored(store) == (30, 13)
