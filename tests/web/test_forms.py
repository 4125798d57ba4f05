import hashlib
import sqlite3

import pytest

from tests.builders import form_rows
from tests.web.conftest import soup

BATTERY = {
    "name": "Cabin",
    "chemistry": "lfp",
    "nominal_v": "12,8",
    "rated_ah": "105 Ah",
    "rated_temperature_c": "25",
    "reserve_percent": "20",
    "end_of_life_percent": "80",
    "test_interval_days": "91",
}
CONDITIONS = {
    "started_at": "2026-11-01T08:30",
    "charge_condition": "full_rested",
    "end_reason": "protection",
    "meter": "shunt",
    "load": "lamps",
}
ROWS = [(f"{h}:00", "9,0", f"{13.2 - h * 0.1:.1f}", 22, 100 - 9 * h) for h in range(10)]
ROWS.append(("10:00", "9.0", "10.2", 23, 10))


def post_test(client, battery, action="store", rows=ROWS, **changes):
    values = CONDITIONS | form_rows(rows) | {"action": action} | changes
    return client.post(f"/batteries/{battery.id}/discharges", data=values, follow_redirects=False)


def test_a_battery_is_stored_from_its_label(client):
    response = client.post("/batteries", data=BATTERY, follow_redirects=True)
    assert response.status_code == 200
    assert "105 Ah" in response.text


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("name", "", "name: got nothing, expected 1 to 80 characters"),
        ("rated_ah", "a lot", "rated capacity: got “a lot”, expected a number from 0.1"),
        ("rated_ah", "-5", "got “-5”"),
        ("rated_ah", "nan", "got “nan”"),
        ("rated_ah", "inf", "got “inf”"),
        ("rated_ah", "", "rated capacity: got nothing"),
        ("nominal_v", "1e999", "got “1e999”"),
        ("chemistry", "uranium", "expected one of: lithium iron phosphate"),
        ("reserve_percent", "95", "from 0 to 90 %"),
        ("in_service_since", "2099-01-01", "to today (2026-11-25)"),
        ("in_service_since", "yesterday", "expected a date"),
        ("notes", "x" * 5000, "at most 4000 characters"),
    ],
)
def test_a_refused_battery_names_the_field_and_keeps_what_was_typed(client, field, value, words):
    response = client.post("/batteries", data=BATTERY | {field: value})
    assert response.status_code == 422
    page = soup(response)
    assert words in page.select_one(".problems").text
    assert page.select_one(f"#problem-{field}")
    typed = page.find(id=field)
    if typed.name == "input":
        assert typed["value"] == value
    if field != "name":
        assert page.find(id="name")["value"] == "Cabin"
    assert soup(client.get("/")).select(".card") == []


def test_units_may_be_typed_and_the_stored_value_is_shown_in_the_unit_asked(client):
    values = BATTERY | {"rated_ah": "105000 mAh", "rated_temperature_c": "77 °F"}
    client.post("/batteries", data=values | {"test_interval_days": "13 weeks"})
    page = soup(client.get("/batteries/1/edit"))
    shown = [page.find(id=n)["value"] for n in ("rated_ah", "rated_temperature_c")]
    assert shown == ["105", "25"]
    assert page.find(id="test_interval_days")["value"] == "91"


def test_a_unit_of_another_kind_is_refused_and_stays_as_typed(client):
    page = soup(client.post("/batteries", data=BATTERY | {"rated_ah": "1280 Wh"}))
    assert "got “1280 Wh”, expected an amount of charge in Ah" in page.text
    assert page.find(id="rated_ah")["value"] == "1280 Wh"


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
    assert "row 4, current: got “8.5 V”, expected a current in A, a number from" in page.text


def test_a_comma_in_a_typed_reading_in_milliamps_is_refused_with_both_readings(client, battery):
    page = soup(post_test(client, battery, current_3="9,000 mA"))
    assert "row 4, current: got “9,000 mA”, expected 9000 or 9.000" in page.text


def test_all_problems_are_told_at_once(client):
    response = client.post("/batteries", data=BATTERY | {"name": "", "rated_ah": "x"})
    assert len(soup(response).select(".problems li")) == 2


def test_check_shows_what_would_be_proven_and_stores_nothing(client, battery):
    response = post_test(client, battery, action="check")
    page = soup(response)
    assert response.status_code == 200
    assert "Measured 90.0 Ah" in page.select_one(".preview .headline").text
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
        ({"started_at": ""}, "start of the test: got nothing"),
        ({"started_at": "soon"}, "start of the test: got “soon”"),
        ({"started_at": "2026-12-24T08:00"}, "expected a moment from 1970 up to now"),
        ({"end_reason": ""}, "why the test ended: got nothing"),
        ({"meter": "banana"}, "meter: got “banana”"),
        ({"ended_after_h": "0"}, "hours until the end: got “0”, expected a number above 0"),
        ({"current_2": "nine"}, "row 3, current: got “nine”"),
        ({"voltage_2": "1e9"}, "row 3, voltage: got “1e9”, expected a number from -10 to 2000 V"),
        ({"time_2": "1:00"}, "row 3, time: got “1:00”, expected a time after 1:00"),
        ({"current_2": "-4"}, "current in reading 3: got “−4 A”"),
    ],
)
def test_a_refused_test_names_the_place_and_keeps_every_reading(client, battery, changes, words):
    response = post_test(client, battery, **changes)
    assert response.status_code == 422
    page = soup(response)
    assert words in page.select_one(".problems").text
    assert page.find(attrs={"name": "current_9"})["value"] == "9,0"
    for name, value in changes.items():
        kept = page.find(attrs={"name": name})
        if kept.name == "input":
            assert kept["value"] == value
    assert client.get(f"/api/batteries/{battery.id}").json()["tests"] == []


def test_a_second_test_at_the_same_instant_is_refused_with_everything_kept(client, battery):
    post_test(client, battery)
    response = post_test(client, battery)
    assert response.status_code == 422
    assert "no other test of this battery starts" in response.text
    assert soup(response).find(attrs={"name": "time_5"})["value"] == "5:00"


def test_more_rows_keeps_what_was_typed(client, battery):
    page = soup(post_test(client, battery, action="more_rows"))
    assert len(page.select("table.typed tbody tr")) == 18
    assert page.find(attrs={"name": "time_5"})["value"] == "5:00"


PASTE = "time\tA\tV\n" + "\n".join(f"{h}:00\t9,0\t{13 - h / 5:.0f},2" for h in range(11))


def paste(client, battery, **more):
    values = CONDITIONS | {"action": "check", "pasted": PASTE} | more
    return client.post(f"/batteries/{battery.id}/discharges", data=values, follow_redirects=False)


def test_pasted_columns_are_previewed_with_what_was_assumed(client, battery):
    page = soup(paste(client, battery))
    assert "decimal comma" in page.select_one(".preview").text
    selects = page.select("select[name^=use_]")
    assert [s.select_one("option[selected]")["value"] for s in selects] == [
        "clock",
        "current_a",
        "voltage_v",
    ]


def test_a_preview_can_be_changed_and_then_stored(client, battery):
    page = soup(paste(client, battery))
    staged = page.find(attrs={"name": "staged"})["value"]
    uses = {"use_0": "clock", "use_1": "current_ma", "use_2": "ignore"}
    values = CONDITIONS | {"action": "store", "staged": staged, "source": "pasted"} | uses
    response = client.post(f"/batteries/{battery.id}/discharges", data=values)
    assert response.status_code == 200
    report = client.get("/api/discharges/1").json()
    assert report["delivered_ah"] == pytest.approx(0.09)
    assert report["rows"][0]["voltage_v"] is None
    assert any("mA" in said for said in report["assumptions"])


def test_a_preview_whose_file_is_gone_is_a_sentence(client, battery):
    values = CONDITIONS | {"action": "store", "staged": "../../etc/passwd-and-more"}
    response = client.post(f"/batteries/{battery.id}/discharges", data=values)
    assert response.status_code == 422
    assert "a preview that is no longer there" in response.text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty file"),
        (b"\x89PNG\x00\x01\x02" * 50, "not text"),
        (b"time_s,voltage_v\n0,13\n60,13\n", "one column with the current"),
        (b"time_s,A\n0,9\n60,9\n120,-9\n180,9\n", "current in reading 3"),
        (b"0" * 70_000_000, "70 MB”, expected at most 64 MB"),
    ],
)
def test_a_bad_file_is_a_sentence_and_nothing_typed_is_lost(client, battery, data, words):
    response = client.post(
        f"/batteries/{battery.id}/discharges",
        data=CONDITIONS | {"action": "check", "load": "a kettle"},
        files={"file": ("log.csv", data)},
    )
    assert response.status_code == 422
    assert words in response.text
    assert soup(response).find(id="load")["value"] == "a kettle"


def test_a_test_can_be_edited_without_retyping_it(client, battery):
    post_test(client, battery)
    page = soup(client.get("/discharges/1/edit"))
    values = {i["name"]: i.get("value", "") for i in page.select("input[name]")}
    values |= {s["name"]: s.select_one("option[selected]")["value"] for s in page.select("select")}
    assert values["current_4"] == "9"
    values |= {"action": "store", "current_4": "19", "load": "heater"}
    response = client.post("/discharges/1", data=values)
    assert response.status_code == 200
    report = client.get("/api/discharges/1").json()
    assert report["load"] == "heater"
    assert report["delivered_ah"] == pytest.approx(100)
    assert report["started_at"].startswith("2026-11-01T08:30")


def test_an_event_is_put_on_the_axis_and_into_the_bin(client, battery):
    event = {"on_date": "2026-05-01", "kind": "moved", "note": "to the shade"}
    page = soup(client.post(f"/batteries/{battery.id}/events", data=event))
    assert "to the shade" in page.text
    assert client.post(f"/batteries/{battery.id}/events", data={}).status_code == 422
    page = soup(client.post("/bin/event/1"))
    assert "to the shade" not in page.text


def test_a_locked_data_file_keeps_everything_typed(client, battery, store):
    held = sqlite3.connect(store.engine.url.database, isolation_level=None)
    held.execute("BEGIN IMMEDIATE")
    event = {"on_date": "2026-05-01", "kind": "moved", "note": "kept"}
    pages = [
        soup(post_test(client, battery)),
        soup(client.post("/batteries", data=BATTERY)),
        soup(client.post(f"/batteries/{battery.id}/events", data=event)),
    ]
    held.close()
    for page in pages:
        assert "Another program is writing" in page.select_one(".problems").text
    assert pages[0].find(id="current_9")["value"] == "9,0"
    assert pages[1].find(id="name")["value"] == "Cabin"
    assert pages[2].find(id="note")["value"] == "kept"


def test_every_wrong_cell_is_told_and_marked(client, battery):
    page = soup(post_test(client, battery, current_2="nine", voltage_4="high", time_5="later"))
    assert len(page.select(".problems li")) == 3
    marked = [one["name"] for one in page.select("input[aria-invalid]")]
    assert marked == ["current_2", "voltage_4", "time_5"]
    assert page.select(".problems a[href='#current_2']")


def test_problems_are_told_in_the_order_of_the_page(client, battery):
    page = soup(post_test(client, battery, current_2="nine", end_reason=""))
    assert [one["href"] for one in page.select(".problems a")] == ["#end_reason", "#current_2"]


def test_the_first_time_must_be_the_start(client, battery):
    rows = [(f"{9 + h}:30", "9", "13") for h in range(6)]
    response = post_test(client, battery, rows=rows)
    assert response.status_code == 422
    assert "first time of the readings: got “9:30”, expected 08:30" in response.text
    assert post_test(client, battery, rows=[("8:30", "9", "13"), *rows]).status_code == 303


def test_a_file_and_a_start_that_contradict_each_other_are_refused(client, battery):
    text = "time,A,V\n2026-10-03 08:00,9,13\n2026-10-03 09:00,9,13\n2026-10-03 10:00,9,13\n"
    page = soup(paste(client, battery, pasted=text))
    assert "the first time in the file, or nothing" in page.select_one(".problems").text
    page = soup(paste(client, battery, pasted=text, started_at=""))
    assert not page.select(".problems")


def test_a_year_that_cannot_be_is_refused(client, battery):
    text = "time,A\n0001-01-01 00:00,9\n0001-01-01 01:00,9\n"
    page = soup(paste(client, battery, pasted=text, started_at=""))
    assert "from 1970" in page.select_one(".problems").text


def test_columns_that_cannot_be_read_can_be_put_right(client, battery):
    text = "a;b;c\n0;10;13\n1;10;13\n2;10;12\n"
    page = soup(paste(client, battery, pasted=text))
    assert "one column with the time" in page.select_one(".problems").text
    staged = page.find(attrs={"name": "staged"})["value"]
    uses = {"use_0": "elapsed_h", "use_1": "current_a", "use_2": "voltage_v"}
    values = CONDITIONS | {"action": "store", "staged": staged, "source": "pasted"} | uses
    assert client.post(f"/batteries/{battery.id}/discharges", data=values).status_code == 200
    assert client.get("/api/discharges/1").json()["delivered_ah"] == pytest.approx(20)


def test_using_other_readings_brings_a_paste_back(client, battery):
    page = soup(paste(client, battery))
    staged = page.find(attrs={"name": "staged"})["value"]
    values = CONDITIONS | {"action": "drop_file", "staged": staged, "source": "pasted"}
    page = soup(client.post(f"/batteries/{battery.id}/discharges", data=values))
    assert page.find(id="pasted").text.split() == PASTE.split()


def test_typed_and_pasted_readings_at_once_are_refused_and_both_kept(client, battery):
    page = soup(post_test(client, battery, pasted=PASTE))
    assert "one of the two" in page.select_one(".problems").text
    assert page.find(id="pasted").text.split() == PASTE.split()
    assert page.find(id="current_3")["value"] == "9,0"


def test_more_rows_than_the_table_holds_are_refused_and_not_cut_off(client, battery):
    rows = [(f"{i // 60}:{i % 60:02d}", "9", "13") for i in range(401)]
    response = post_test(client, battery, rows=rows)
    assert "at most 400 typed rows" in response.text


def test_editing_the_conditions_keeps_where_the_readings_came_from(client, battery):
    page = soup(paste(client, battery))
    staged = page.find(attrs={"name": "staged"})["value"]
    values = CONDITIONS | {"action": "store", "staged": staged, "source": "pasted"}
    client.post(f"/batteries/{battery.id}/discharges", data=values)
    page = soup(client.get("/discharges/1/edit"))
    values = {i["name"]: i.get("value", "") for i in page.select("input[name]")}
    values |= {s["name"]: s.select_one("option[selected]")["value"] for s in page.select("select")}
    client.post("/discharges/1", data=values | {"action": "store", "load": "kettle"})
    report = client.get("/api/discharges/1").json()
    assert (report["load"], report["source"]) == ("kettle", "pasted")
    assert report["assumptions"]


@pytest.mark.parametrize("cut_off", ["14", "13.2"])
def test_a_cut_off_above_the_whole_test_is_refused_and_no_page_breaks(client, battery, cut_off):
    post_test(client, battery)
    values = BATTERY | {"cut_off_v": cut_off}
    response = client.post(f"/batteries/{battery.id}", data=values)
    assert response.status_code == 422
    assert "the first voltage under load" in response.text
    for path in ("/", f"/batteries/{battery.id}", "/discharges/1"):
        assert client.get(path).status_code == 200
    assert post_test(client, battery, cut_off_v=cut_off).status_code == 422


@pytest.mark.parametrize("hours", ["90", "0.5"])
def test_a_noted_end_that_the_readings_do_not_bear_out_is_refused(client, battery, hours):
    response = post_test(client, battery, ended_after_h=hours)
    assert response.status_code == 422
    assert "hours until the end: got" in response.text


def test_a_meter_can_be_added_chosen_and_changed(client, battery):
    limits = {"kind": "shunt", "offset_limit_a": "0,05", "resolution_a": "0.1"}
    client.post("/meters", data=limits | {"name": "My shunt", "gain_limit_percent": "0.5"})
    post_test(client, battery, meter="1")
    before = client.get("/api/discharges/1").json()
    assert before["meter"] == "My shunt"
    client.post("/meters/1", data=limits | {"name": "My shunt", "gain_limit_percent": "5"})
    assert client.get("/api/discharges/1").json()["standard_ah"] > 2 * before["standard_ah"]
    response = client.post("/meters", data=limits | {"name": "", "gain_limit_percent": "500"})
    assert response.status_code == 422
    assert len(soup(response).select(".problems li")) == 2


def test_a_test_is_left_out_with_a_reason_and_taken_back(client, battery):
    post_test(client, battery)
    page = soup(client.post("/discharges/1/left-out", data={"reason": ""}))
    assert "reason: got nothing" in page.select_one(".problems").text
    client.post("/discharges/1/left-out", data={"reason": "a door was open"})
    assert "left out: a door was open" in client.get(f"/batteries/{battery.id}").text
    assert client.get(f"/api/batteries/{battery.id}").json()["fade"]["left_out"] == 1
    client.post("/discharges/1/left-out", data={"back": "yes"})
    assert client.get(f"/api/batteries/{battery.id}").json()["fade"]["left_out"] == 0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"threshold_kind": "first_test", "end_of_life_percent": "70"}, "70 % of the first test"),
        (
            {"threshold_kind": "nights", "daily_use_ah": "24", "nights": "3"},
            "90 Ah for 3 nights of 24 Ah",
        ),
    ],
)
def test_a_threshold_can_be_a_share_of_the_first_test_or_nights(client, changes, words):
    response = client.post("/batteries", data=BATTERY | changes, follow_redirects=True)
    assert words in response.text


def test_a_threshold_by_nights_needs_a_use_and_nights(client):
    response = client.post("/batteries", data=BATTERY | {"threshold_kind": "nights"})
    assert len(soup(response).select(".problems li")) == 2


def test_the_chance_at_a_date_is_told_in_words(client, battery):
    post_test(client, battery)
    text = client.get(f"/batteries/{battery.id}?on=2040-01-01").text
    assert "On 1 January 2040 it is" in text
    text = client.get(f"/batteries/{battery.id}?on=someday").text
    assert "Date: got “someday”" in text


def upload_log(client, battery, text=None, **more):
    text = PASTE.replace("\t", ";") if text is None else text
    return client.post(
        f"/batteries/{battery.id}/discharges",
        data=CONDITIONS | {"action": "check"} | more,
        files={"file": ("my log — é.csv", text.encode())},
    )


def store_staged(client, battery, page, **more):
    staged = page.find(attrs={"name": "staged"})["value"]
    source = page.find(attrs={"name": "source"})["value"]
    values = CONDITIONS | {"action": "store", "staged": staged, "source": source} | more
    return client.post(f"/batteries/{battery.id}/discharges", data=values)


def test_the_original_file_is_kept_as_evidence(client, battery):
    page = soup(upload_log(client, battery))
    assert page.select_one(".preview figure.chart")
    page = soup(store_staged(client, battery, page))
    link = page.find("a", string="my log — é.csv")
    response = client.get(link["href"])
    original = PASTE.replace("\t", ";").encode()
    assert response.content == original
    assert hashlib.sha256(original).hexdigest() in page.text
    assert client.get("/files/99").status_code == 404


def test_the_next_file_of_the_same_shape_is_read_as_the_last(client, battery):
    text = "a;b;c\n0;10;13\n1;10;13\n2;10;12\n"
    page = soup(upload_log(client, battery, text))
    assert page.select(".problems")
    uses = {"use_0": "elapsed_h", "use_1": "current_a", "use_2": "voltage_v"}
    store_staged(client, battery, page, **uses)
    page = soup(upload_log(client, battery, text, started_at="2026-11-02T08:30"))
    assert not page.select(".problems")
    chosen = [s.select_one("option[selected]")["value"] for s in page.select("select[name^=use_]")]
    assert chosen == list(uses.values())


def test_the_layout_of_a_file_can_be_overruled(client, battery):
    text = "time;A;V\n03/04/2026 08:00;9;13\n03/04/2026 09:00;9;13\n03/04/2026 10:00;9;12\n"
    page = soup(upload_log(client, battery, text, started_at=""))
    chosen = {
        s["name"]: s.select_one("option[selected]")["value"] for s in page.select("select[name]")
    }
    assert (chosen["delimiter"], chosen["decimal"]) == (";", ".")
    store_staged(client, battery, page, started_at="", day_order="month_first")
    assert client.get("/api/discharges/1").json()["started_at"].startswith("2026-03-04T08:00")


def test_another_delimiter_brings_other_columns_or_a_problem_and_keeps_the_file(client, battery):
    text = "time,A;x;y\n0:00,9;1;2\n1:00,9;1;2\n2:00,9;1;2\n"
    page = soup(upload_log(client, battery, text))
    staged = page.find(attrs={"name": "staged"})["value"]
    values = CONDITIONS | {"action": "check", "staged": staged, "source": "log"}
    page = soup(
        client.post(f"/batteries/{battery.id}/discharges", data=values | {"delimiter": ";"})
    )
    assert [th.text for th in page.select("fieldset#readings thead th")] == ["time,A", "x", "y"]
    page = soup(
        client.post(f"/batteries/{battery.id}/discharges", data=values | {"delimiter": "|"})
    )
    assert "lines with a time and a current" in page.select_one(".problems").text
    assert page.find(attrs={"name": "staged"})["value"] == staged


def wrong_forms(client, battery):
    """Every form of the owner, sent with what it refuses."""
    number = battery.id
    wrong_battery = {"name": "", "rated_ah": "8 V", "appliance_0": "pump", "appliance_a_0": "x"}
    text = {"file": ("log.csv", b"a;b\n1;2\n")}
    client.post("/places", data={"name": "Garage", "unit": "c"})
    at = f"/batteries/{number}"
    return {
        "battery": client.post("/batteries", data=BATTERY | wrong_battery),
        "meter": client.post("/meters", data={"kind": "shunt"}),
        "test": post_test(client, battery, current_2="x", time_4="y", meter="?"),
        "file": client.post(f"{at}/discharges", data=CONDITIONS, files={"file": ("a.csv", b"")}),
        "columns": client.post(f"{at}/discharges", data=CONDITIONS, files=text),
        "event": client.post(f"{at}/events", data={"on_date": "soon"}),
        "place": client.post("/places", data={"name": "", "temperature_0": "x", "from_1": "3"}),
        "run": client.post(f"{at}/runs", data={"reading_every_min": "x"}),
        "plan": client.get(f"{at}/plan?current_a=x"),
        "road": client.get(f"{at}/road?nights=x"),
        "comparison": client.get("/comparison?battery=x&show=y"),
        "stay": client.post(f"{at}/stays", data={"place_id": "7", "from_date": "x"}),
        "archive": client.post("/records/restore", data={}),
        "received": client.post("/received", data={}),
    }


def test_every_refused_form_links_each_problem_to_its_field_and_names_it_there(client, battery):
    looked_at = 0
    for name, response in wrong_forms(client, battery).items():
        page = soup(response)
        box = page.select_one(".problems")
        assert box, f"{name} refused nothing: {response.status_code}"
        assert box.has_attr("autofocus"), name
        assert box["tabindex"] == "-1", name
        for link in box.select("a"):
            field = page.find(id=link["href"][1:])
            assert field, f"{name}: {link['href']} leads nowhere"
            beside = page.find(id=f"problem-{field['id']}")
            assert beside, f"{name}: nothing beside {field['id']}"
            assert link.text in beside.text, name
            if field.name in ("input", "select", "textarea"):
                assert beside["id"] in field["aria-describedby"].split(), name
                assert field["aria-invalid"] == "true", name
            looked_at += 1
        ids = [one["id"] for one in page.select("[id]")]
        assert len(ids) == len(set(ids)), f"{name}: an id stands twice"
    assert looked_at > 15


def chosen(page, name):
    field = page.find(id=name)
    one = field.select_one("option[selected]") if field.name == "select" else field
    return one["value"] if one else ""


def said(page, name):
    hint = page.find(id=f"hint-{name}")
    return hint.text if hint else ""


@pytest.mark.parametrize("path", ["discharges/new", "runs/new"])
def test_what_usually_repeats_is_proposed_as_in_the_last_test_and_said_so(client, battery, path):
    post_test(client, battery, load="old lamps", started_at="2026-10-01T08:30")
    post_test(client, battery, charge_condition="full")
    page = soup(client.get(f"/batteries/{battery.id}/{path}"))
    assert [chosen(page, n) for n in ("charge_condition", "meter", "load")] == [
        "full",
        "1",
        "lamps",
    ]
    for name in ("charge_condition", "meter", "load"):
        assert "As in the test of 1 Nov 2026." in said(page, name)


def test_why_a_test_ended_is_never_proposed(client, battery):
    post_test(client, battery)
    page = soup(client.get(f"/batteries/{battery.id}/discharges/new"))
    assert chosen(page, "end_reason") == ""


def test_a_proposal_that_was_changed_is_no_longer_said_to_be_one(client, battery):
    post_test(client, battery)
    page = soup(post_test(client, battery, action="check", load="kettle", current_2="x"))
    assert "As in the test" not in said(page, "load")
    assert "As in the test of 1 Nov 2026." in said(page, "charge_condition")


def test_a_first_test_proposes_nothing_from_a_last_time(client, battery):
    page = client.get(f"/batteries/{battery.id}/discharges/new")
    assert "As in the test" not in page.text
    assert chosen(soup(page), "charge_condition") == ""


def test_a_test_that_is_edited_shows_no_proposal(client, battery):
    post_test(client, battery, started_at="2026-10-01T08:30")
    post_test(client, battery)
    assert "As in the test" not in client.get("/discharges/1/edit").text


def test_a_new_battery_proposes_what_the_last_one_has(client):
    client.post("/batteries", data=BATTERY | {"reserve_percent": "35", "test_interval_days": "60"})
    page = soup(client.get("/batteries/new"))
    assert chosen(page, "reserve_percent") == "35"
    assert chosen(page, "test_interval_days") == "60"
    assert "As for Cabin." in said(page, "reserve_percent")
    assert chosen(page, "rated_ah") == ""
    assert "As for" not in client.get("/batteries/1/edit").text
