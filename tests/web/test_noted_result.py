"""Only the result: the fourth way into the form of a test, and wherever such a test is shown."""

from datetime import date

import pytest

from app.services.entities import discharges
from app.services.exchange import records_archive
from tests.archives import empty_store, exported
from tests.web.conftest import soup
from tests.web.sent import archive_in, file_of, table_in
from tests.web.test_edit_conflicts import form_of
from tests.web.typed import CONDITIONS, post_test

pytestmark = pytest.mark.any_database
RESULT = {"start_time": "", "day": "2026-11-03", "counted_ah": "96.4"}


def post_result(client, battery, action="store", **changes):
    values = CONDITIONS | RESULT | {"action": action} | changes
    return client.post(f"/batteries/{battery.id}/discharges", data=values, follow_redirects=False)


def words(response):
    return " ".join(soup(response).main.text.split())


def details_of(store, number=1):
    return discharges.show_discharge(store, number).discharge.details


def test_it_is_checked_stored_and_shown(client, store, battery):
    checked = post_result(client, battery, "check")
    assert checked.status_code == 200
    assert "Measured 96.4 Ah ±" in words(checked)
    assert "only the result" in words(checked)
    assert post_result(client, battery).status_code == 303
    kept = details_of(store)
    assert (kept.counted_ah, kept.started_local.date()) == (96.4, date(2026, 11, 3))
    assert kept.is_only_result
    shown = client.get("/discharges/1")
    assert "load and chargers during the test" in words(shown)
    assert "Only the result of this test was noted" in words(shown)
    assert soup(shown).find(id="readings-title") is None
    assert "00:00" not in words(shown)
    assert "only the result" in words(client.get(f"/batteries/{battery.id}"))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"day": ""}, "“day”"),
        ({"day": "2027-03-01"}, "“day”"),
        ({"counted_ah": "0"}, "a number above 0 and up to 100000 Ah"),
        ({"counted_ah": "ninety"}, "amp-hours counted"),
        ({"counted_ah": "", "counted_wh": "1230"}, "Enter the mean voltage as well"),
        ({"duration_h": "-3"}, "hours the test took"),
        ({"pasted": "time\tA\n0:00\t9\n1:00\t9\n"}, "readings and a noted result"),
        ({"time_0": "0:00", "current_0": "9"}, "readings and a noted result"),
    ],
)
def test_what_is_wrong_is_refused_by_name_and_nothing_is_lost(client, battery, changes, said):
    answer = post_result(client, battery, **changes)
    assert answer.status_code == 422
    assert said in soup(answer).text
    page = soup(answer)
    for name, value in (RESULT | changes).items():
        field = page.find(id=name)
        if field is not None and field.name == "input" and field.get("type") != "datetime-local":
            assert field["value"] == value, name
    assert client.get("/discharges/1").status_code == 404


def test_what_can_hardly_be_is_asked_and_the_answer_kept(client, store, battery):
    asked = post_result(client, battery, counted_ah="96400")
    assert "The result is in mAh? then 96.4 Ah" in words(asked)
    (field,) = [one["name"] for one in soup(asked).select("input[name^=meant_]")]
    assert client.get("/discharges/1").status_code == 404
    assert post_result(client, battery, counted_ah="96400", **{field: "yes"}).status_code == 303
    assert "right as entered" in details_of(store).assumptions[0]
    assert "Unusable" in words(client.get("/discharges/1"))


def test_an_edit_keeps_its_day_and_what_was_noted(client, store, battery):
    post_result(client, battery, counted_ah="", counted_wh="1230", mean_voltage_v="12.9")
    before = details_of(store)
    values = form_of(client, "/discharges/1/edit")
    assert (values["day"], values["counted_wh"], values["start_time"]) == ("2026-11-03", "1230", "")
    values |= {"duration_h": "11", "action": "store"}
    assert client.post("/discharges/1", data=values).status_code == 200
    after = details_of(store)
    assert (after.duration_h, after.started_at) == (11.0, before.started_at)
    assert "It took nothing → 11 h" in words(client.get("/history/discharge/1"))


def test_readings_may_take_its_place(client, store, battery):
    post_result(client, battery)
    values = form_of(client, "/discharges/1/edit") | {"counted_ah": ""}
    values |= {"start_time": "08:00", "action": "store"}
    values |= {f"time_{n}": f"{n}:00" for n in range(11)} | {f"current_{n}": "9" for n in range(11)}
    assert client.post("/discharges/1", data=values).status_code == 200
    assert not details_of(store).is_only_result


def test_it_counts_in_the_fade_with_its_doubt(client, store, battery):
    for year, charge in ((2023, "100"), (2024, "96"), (2025, "92"), (2026, "88")):
        day = {"day": f"{year}-06-01", "counted_ah": charge}
        questions = soup(post_result(client, battery, "check", **day)).select("[name^=meant_]")
        meant = {one["name"]: "yes" for one in questions}
        assert post_result(client, battery, **day, **meant).status_code == 303
    fade = client.get(f"/api/batteries/{battery.id}").json()["fade"]
    assert fade["measured"] == 4
    assert 3 < fade["rate_percent_per_year"] < 5
    assert fade["low"] < fade["rate_percent_per_year"] < fade["high"]


def test_every_page_and_file_of_it_answers(client, battery):
    post_result(client, battery)
    post_test(client, battery)
    for path in (
        "/discharges/1/report",
        "/discharges/1/readings.csv",
        "/discharges/1/readings.json",
        "/discharges/1/result.json",
        "/history/discharge/1",
        "/api/discharges/1",
        *(f"/batteries/{battery.id}{one}" for one in ("/curves", "/report", "/warranty", "/heat")),
        *(f"/batteries/{battery.id}{one}" for one in ("/road", "/tests.csv", "/file.html")),
    ):
        assert client.get(path).status_code == 200, path
    answer = client.get("/api/discharges/1").json()
    assert (answer["only_result"], answer["rows"], answer["duration_h"]) == (True, [], None)
    assert "none: only the result was noted" in words(client.get("/discharges/1/report"))
    assert client.get("/discharges/1/readings.json").json() == []


def test_it_travels_in_a_file_to_send(client, battery):
    post_result(client, battery)
    text = file_of(client, battery)
    (row,) = table_in(text, "discharge")
    assert row["counted_ah"] == "96.4"
    assert "import_uid" not in row
    names = archive_in(text).namelist()
    (readings,) = [one for one in names if one.startswith("readings/") and one.endswith(".csv")]
    assert archive_in(text).read(readings).count(b"\n") == 1
    assert "Only the result" in text or "only the result" in text


@pytest.mark.data_file
def test_it_outlives_an_archive(client, store, battery, tmp_path):
    post_result(client, battery)
    before = details_of(store)
    packed = exported(store, tmp_path / "all.zip")
    assert packed
    other = empty_store(tmp_path / "other")
    records_archive.restore_records(other, tmp_path / "all.zip")
    assert details_of(other) == before
    other.engine.dispose()
