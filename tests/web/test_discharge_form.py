"""The form of a capacity test whose readings are typed."""

import pytest

from app.domain.readings import Readings
from app.web.forms.discharge_form import rows_by_the_clock
from tests.web.conftest import refusals_of, soup
from tests.web.typed import as_sent, chosen, post_test


def test_units_and_spans_may_be_typed_into_the_table_of_readings(client, battery):
    rows = [("0h00", "9000 mA", "13200 mV", "71.6 °F", "100 %")]
    rows += [(f"{h}h30", "9", "13", "", "") for h in range(9)]
    rows.append(("600 min", "9 A", "10.2 V", "22 °C", "10"))
    assert post_test(client, battery, rows=rows).status_code == 303
    report = client.get("/api/discharges/1").json()
    assert report["delivered_ah"] == pytest.approx(90)
    first = report["rows"][0]
    assert (first["voltage_v"], first["temperature_c"]) == pytest.approx((13.2, 22))


def test_a_typed_reading_in_a_unit_of_another_kind_is_refused_by_name(client, battery):
    page = soup(post_test(client, battery, current_3="8.5 V"))
    assert (
        "row 4, current”: “8.5 V” does not fit. It needs a current in A, a number from" in page.text
    )


def test_a_comma_in_a_typed_reading_in_milliamps_is_refused_with_both_readings(client, battery):
    page = soup(post_test(client, battery, current_3="9,000 mA"))
    assert "row 4, current”: “9,000 mA” does not fit. It needs 9000 or 9.000" in page.text


def test_check_shows_what_would_be_proven_and_stores_nothing(client, battery):
    response = post_test(client, battery, action="check")
    page = soup(response)
    assert response.status_code == 200
    # 90 Ah, and half of the 0.225 Ah that may have been left at 10.2 V.
    assert "Measured 90.1 Ah" in page.select_one(".preview .headline").text
    assert page.find(attrs={"name": "current_3"})["value"] == "9,0"
    assert client.get(f"/api/batteries/{battery.id}").json()["tests"] == []


def test_store_leads_to_the_test_and_its_verdict(client, battery):
    response = post_test(client, battery)
    assert response.status_code == 303
    assert response.headers["location"] == "/discharges/1"
    report = client.get("/api/discharges/1").json()
    assert report["kind"] == "measured"
    assert report["delivered_ah"] == pytest.approx(90)
    assert len(report["rows"]) == 11


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"day": ""}, "fill in “day”"),
        ({"day": "soon"}, "“day”: “soon”"),
        ({"day": "2026-12-24"}, "a date from 1 Jan 1970 to today (25 Nov 2026)"),
        ({"start_time": ""}, "fill in “start time”"),
        (
            {"start_time": "25:00"},
            "start time”: “25:00” does not fit. It needs a time such as 08:30",
        ),
        ({"end_reason": ""}, "fill in “why the test ended”"),
        ({"meter": "banana"}, "meter”: “banana”"),
        (
            {"ended_after_h": "0"},
            "hours until the end”: “0” does not fit. It needs a number above 0",
        ),
        ({"current_2": "nine"}, "row 3, current”: “nine”"),
        (
            {"voltage_2": "1e9"},
            "row 3, voltage”: “1e9” does not fit. It needs a number from −10 to 2000 V",
        ),
        ({"time_2": "1:00"}, "row 3, time”: “1:00” does not fit. It needs a time after 1:00"),
        ({"current_2": "-4"}, "current in reading 3”: “−4 A”"),
    ],
)
def test_a_refused_test_names_the_place_and_keeps_every_reading(client, battery, changes, words):
    response = post_test(client, battery, **changes)
    assert response.status_code == 422
    page = soup(response)
    assert words in refusals_of(page)
    assert page.find(attrs={"name": "current_9"})["value"] == "9,0"
    for name, value in changes.items():
        if page.find(id=name).name == "input":
            kept = chosen(page, name) if name == "end_reason" else page.find(id=name)["value"]
            assert kept == value
    assert client.get(f"/api/batteries/{battery.id}").json()["tests"] == []


def test_a_second_test_at_the_same_instant_is_refused_with_everything_kept(client, battery):
    post_test(client, battery)
    response = post_test(client, battery)
    assert response.status_code == 422
    assert "no other test of this battery starts" in response.text
    assert soup(response).find(attrs={"name": "time_5"})["value"] == "5:00"


def test_a_taken_start_is_refused_already_at_check(client, battery):
    post_test(client, battery)
    checked = soup(post_test(client, battery, action="check"))
    assert "no other test of this battery starts" in refusals_of(checked)
    assert checked.select_one(".preview") is None


def test_what_is_wrong_with_a_row_is_as_wide_as_the_row_with_the_folded_column_and_without(
    client, battery
):
    def reach(row):
        cells = [one for one in row.select("th, td") if one.get("class") != ["folded"]]
        return sum(int(one.get("colspan", 1)) for one in cells), len(row.select(".folded"))

    page = soup(post_test(client, battery, current_3="x"))
    said = page.select_one("table.typed tr.said")
    assert reach(said) == reach(said.find_previous_sibling("tr")) == (6, 1)


def test_more_rows_keeps_what_was_typed(client, battery):
    page = soup(post_test(client, battery, action="more_rows"))
    assert len(page.select("table.typed tbody tr")) == 18
    assert page.find(attrs={"name": "time_5"})["value"] == "5:00"


def test_a_test_can_be_edited_without_retyping_it(client, battery):
    post_test(client, battery)
    page = soup(client.get("/discharges/1/edit"))
    values = as_sent(page.select_one("main form"))
    assert values["current_4"] == "9"
    values |= {"action": "store", "current_4": "19", "load": "heater"}
    response = client.post("/discharges/1", data=values)
    assert response.status_code == 200
    report = client.get("/api/discharges/1").json()
    assert report["load"] == "heater"
    assert report["delivered_ah"] == pytest.approx(100)
    assert report["started_at"].startswith("2026-11-01T08:30")


def test_an_edit_shows_the_time_of_day_and_takes_one_more(client, battery):
    """A test of 08:30 to 18:30 by the clock: the row of 19:00 is half an hour later, not 19 h."""
    post_test(client, battery)
    values = as_sent(soup(client.get("/discharges/1/edit")).select_one("main form"))
    assert [values["time_0"], values["time_10"]] == ["08:30", "18:30"]
    values |= {"time_11": "19:00", "current_11": "9", "voltage_11": "10.1", "action": "store"}
    assert client.post("/discharges/1", data=values).status_code == 200
    report = client.get("/api/discharges/1").json()
    assert report["delivered_ah"] == pytest.approx(94.5)
    assert report["started_at"].startswith("2026-11-01T08:30")


def test_a_new_start_of_an_edited_test_moves_its_rows_along(client, battery):
    post_test(client, battery)
    values = as_sent(soup(client.get("/discharges/1/edit")).select_one("main form"))
    values |= {"start_time": "10:15", "action": "store"}
    assert client.post("/discharges/1", data=values).status_code == 200
    report = client.get("/api/discharges/1").json()
    assert report["started_at"].startswith("2026-11-01T10:15")
    assert report["delivered_ah"] == pytest.approx(90)


@pytest.mark.parametrize(
    ("hours", "clock", "shown"),
    [
        ((0, 1, 3), 82800.0, ["23:00", "00:00", "02:00"]),
        ((0, 1, 3), None, ["0:00", "1:00", "3:00"]),
        ((0, 1, 25), 3600.0, ["0:00", "1:00", "25:00"]),
        ((0.5, 1), 3600.0, ["0:30", "1:00"]),
    ],
)
def test_rows_by_the_clock_only_where_it_says_the_day(hours, clock, shown):
    readings = Readings.of([3600.0 * hour for hour in hours], [9.0] * len(hours))
    rows = rows_by_the_clock(readings, clock)
    assert [rows[f"time_{i}"] for i in range(len(hours))] == shown


def test_every_wrong_cell_is_told_and_marked(client, battery):
    page = soup(post_test(client, battery, current_2="nine", voltage_4="high", time_5="later"))
    assert len(page.select(".problems li")) == 3
    marked = [one["name"] for one in page.select("input[aria-invalid]")]
    assert marked == ["current_2", "voltage_4", "time_5"]
    assert page.select(".problems a[href='#current_2']")


def test_problems_are_told_in_the_order_of_the_page(client, battery):
    page = soup(post_test(client, battery, day="", current_2="nine", end_reason=""))
    order = ["#day", "#current_2", "#end_reason"]
    assert [one["href"] for one in page.select(".problems a")] == order


def test_the_first_time_must_be_the_start(client, battery):
    rows = [(f"{9 + h}:30", "9", "13") for h in range(6)]
    response = post_test(client, battery, rows=rows)
    assert response.status_code == 422
    assert "first time of the readings”: “9:30” does not fit. It needs 08:30" in response.text
    assert post_test(client, battery, rows=[("8:30", "9", "13"), *rows]).status_code == 303


def test_without_a_start_time_the_first_reading_says_it(client, battery):
    rows = [(f"{9 + h}:30", "9", "13") for h in range(6)]
    assert post_test(client, battery, rows=rows, start_time="").status_code == 303
    assert client.get("/api/discharges/1").json()["started_at"].startswith("2026-11-01T09:30")


def test_a_whole_reading_in_the_first_cell_is_spread_over_its_row(client, battery):
    rows = [("8:30 9,0 13.2",), ("9:30 9 13,1 22 90",), ("10:30; 9; 13",)]
    page = soup(post_test(client, battery, action="check", rows=rows, time_5="9 volts or so"))
    shown = [page.find(id=f"{name}_1")["value"] for name in ("time", "current", "gauge")]
    assert shown == ["9:30", "9", "90"]
    assert page.find(id="time_5")["value"] == "9 volts or so", "what is no reading stays"
    assert post_test(client, battery, rows=rows).status_code == 303
    first = client.get("/api/discharges/1").json()["rows"][0]
    assert (first["current_a"], first["voltage_v"]) == (9, 13.2)


@pytest.mark.parametrize(
    ("typed", "filled"),
    [
        (["8:00"], ["9:00", "10:00", "11:00"]),
        (["08:00", "08:20"], ["08:40", "09:00", "09:20"]),
        (["22:30", "00:00"], ["01:30", "03:00", "04:30"]),
        (["0:00", "10:00"], ["20:00", "30:00", "40:00"]),
        (["08:00", "", "", "10:30"], ["08:00", "09:00", "10:00", "10:30", ""]),
    ],
)
def test_times_are_filled_in_on_request_and_without_a_reading_they_are_nothing(
    client, battery, typed, filled
):
    page = soup(post_test(client, battery, action="times", rows=[(one,) for one in typed]))
    times = [page.find(id=f"time_{row}")["value"] for row in range(12)]
    begin = 0 if "" in typed else len(typed)
    assert times[begin : begin + len(filled)] == filled
    more = dict.fromkeys(("current_0", "current_1", "current_3"), "3")
    more["start_time"] = "08:00" if typed[0] == "0:00" else ""
    values = as_sent(page.main.form) | more | {"action": "store"}
    answer = client.post(f"/batteries/{battery.id}/discharges", data=values)
    assert answer.status_code == 200, soup(answer).select_one(".problems")
    assert len(client.get("/api/discharges/1").json()["rows"]) == 3


def test_a_time_that_was_typed_needs_its_reading(client, battery):
    page = soup(post_test(client, battery, action="times", rows=[("8:00", "9")]))
    values = as_sent(page.main.form) | {"current_1": "9", "time_3": "10:30", "action": "check"}
    told = soup(client.post(f"/batteries/{battery.id}/discharges", data=values))
    assert told.select(".problems a[href='#current_3']")


@pytest.mark.parametrize("typed", [[""], ["soon"], ["9:00", "9:00"]])
def test_times_cannot_go_on_from_what_is_none(client, battery, typed):
    answer = post_test(client, battery, action="times", rows=[(one,) for one in typed])
    assert answer.status_code == 422
    assert "a time such as 14:30 to go on from" in answer.text


def test_more_rows_than_the_table_holds_are_refused_and_not_cut_off(client, battery):
    rows = [(f"{i // 60}:{i % 60:02d}", "9", "13") for i in range(401)]
    response = post_test(client, battery, rows=rows)
    assert "at most 400 typed rows" in response.text


@pytest.mark.parametrize("hours", ["90", "0.5"])
def test_a_noted_end_that_the_readings_do_not_bear_out_is_refused(client, battery, hours):
    response = post_test(client, battery, ended_after_h=hours)
    assert response.status_code == 422
    assert "hours until the end”: “" in response.text


def test_a_test_is_left_out_with_a_reason_and_taken_back(client, battery):
    post_test(client, battery)
    page = soup(client.post("/discharges/1/left-out", data={"reason": ""}))
    assert "fill in “reason”" in refusals_of(page)
    client.post("/discharges/1/left-out", data={"reason": "a door was open"})
    assert "left out: a door was open" in client.get(f"/batteries/{battery.id}/tests").text
    assert client.get(f"/api/batteries/{battery.id}").json()["fade"]["left_out"] == 1
    client.post("/discharges/1/left-out", data={"back": "yes"})
    assert client.get(f"/api/batteries/{battery.id}").json()["fade"]["left_out"] == 0
