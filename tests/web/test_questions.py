"""What can hardly be is asked before it is stored, and the answer is kept with the test."""

from datetime import UTC, date, datetime

import pytest

from app.domain.entities.meter import MeterKind
from app.domain.i18n.preferences import Language, Preferences
from app.services.access import preferences
from app.services.entities import batteries, discharges
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.web.conftest import soup
from tests.web.typed import ROWS, as_sent, post_test

TEN_TIMES = [(time, "90", volts, celsius, "") for time, _, volts, celsius, _ in ROWS]


def words(response):
    return " ".join(soup(response).main.text.split())


def fields_of(response):
    return [one["name"] for one in soup(response).select(".questions input[type=checkbox]")]


def stored_of(client, battery):
    return client.get(f"/api/batteries/{battery.id}").json()["tests"]


def test_ten_times_the_current_is_asked_with_what_each_reading_gives(client, battery):
    """Ten hours at 90 A would be 900 Ah of a battery of 100; 9.0 A would be 90."""
    answer = post_test(client, battery, rows=TEN_TIMES)
    assert answer.status_code == 422
    said = words(answer)
    assert "The test comes to 900 Ah, 9 times the rated 100 Ah" in said
    assert "The currents are a tenth? then 90 Ah" in said
    assert "Right as entered? then 900 Ah" in said
    # All of what is to be done has the frame of the focus, and not its first words alone.
    focused = soup(answer).select_one("[autofocus]")
    assert " ".join(focused.text.split()).startswith("Nothing was stored yet. Answer each of these")
    assert stored_of(client, battery) == []
    assert soup(answer).find(attrs={"name": "current_3"})["value"] == "90"


def test_what_is_meant_is_stored_with_the_answer_and_not_asked_again(client, battery):
    (field,) = fields_of(post_test(client, battery, action="check", rows=TEN_TIMES))
    assert post_test(client, battery, rows=TEN_TIMES, **{field: "yes"}).status_code == 303
    page = client.get("/discharges/1")
    assert "Checked, and right as entered. The test comes to 900 Ah" in words(page)
    assert "Please look at this" not in words(page)
    form = soup(client.get("/discharges/1/edit")).select_one("main form")
    again = as_sent(form) | {"action": "store"}
    changed = client.post("/discharges/1", data=again | {"load": "heater", "meter": "shunt"})
    assert changed.status_code == 200
    assert "heater" in words(changed)


def test_an_answer_is_for_its_value_alone(client, battery):
    (field,) = fields_of(post_test(client, battery, action="check", rows=TEN_TIMES))
    other = [(time, "80", *rest) for time, _, *rest in TEN_TIMES]
    assert post_test(client, battery, rows=other, **{field: "yes"}).status_code == 422
    assert stored_of(client, battery) == []


@pytest.mark.parametrize(
    ("volts", "said"),
    [("132", "Reading 5 says 132 V"), ("1325", "Reading 5 says 1325 V")],
)
def test_a_voltage_that_no_such_battery_has_is_asked(client, battery, volts, said):
    rows = [*ROWS[:4], ("4:00", "9,0", volts, 22, ""), *ROWS[5:]]
    answer = post_test(client, battery, rows=rows)
    assert answer.status_code == 422
    assert said in words(answer)
    assert stored_of(client, battery) == []


def test_a_slip_of_the_year_is_asked_and_a_test_of_today_is_not(client, battery):
    answer = post_test(client, battery, day="2016-11-01")
    assert answer.status_code == 422
    assert "The test starts 10 years away from today" in words(answer)
    assert post_test(client, battery).status_code == 303


def test_two_tests_of_one_battery_at_a_time_are_asked(client, store, battery):
    stored = discharge_details(started_at=datetime(2026, 11, 1, 12, 0, tzinfo=UTC))
    discharges.add_discharge(store, battery.id, stored, MeterKind.SHUNT, NOW)
    answer = post_test(client, battery)
    assert answer.status_code == 422
    assert "one battery cannot run two tests at once" in words(answer)


def test_a_load_tenfold_of_last_time_is_asked(client, store, battery):
    stored = discharge_details(steady(hours=100, amps=0.9), days_ago=60)
    discharges.add_discharge(store, battery.id, stored, MeterKind.SHUNT, NOW)
    answer = post_test(client, battery)
    assert answer.status_code == 422
    assert "The load is 9 A; it was 0.9 A in the test of 26 Sep 2026." in words(answer)


@pytest.fixture
def impossible(store, battery):
    """A test that came in another way than through the form: 900 Ah."""
    details = discharge_details(steady(hours=10, amps=90.0))
    return discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


def test_what_came_in_another_way_is_marked_until_its_owner_means_it(client, impossible):
    path = f"/discharges/{impossible.id}"
    assert "Please look at this The test comes to 900 Ah" in words(client.get(path))
    answered = client.post(f"{path}/meant")
    assert "Please look at this" not in words(answered)
    # Meant or not, no battery of 100 Ah gives 900.
    assert "gives at most 120 Ah" in words(answered)
    assert "Checked, and right as entered. The test comes to 900 Ah" in words(answered)


def test_an_answer_is_kept_in_english_and_said_in_the_reader_s_language(client, store, impossible):
    preferences.keep_preferences(store, Preferences(language=Language.GERMAN))
    assert "Bitte prüfen" in words(client.get("/discharges/1"))
    assert "Noch einmal angesehen und so gemeint." in words(client.post("/discharges/1/meant"))
    (kept,) = discharges.show_discharge(store, impossible.id).discharge.details.assumptions
    assert kept.startswith("Checked, and right as entered. The test comes to 900 Ah")
    assert "Bitte noch einmal ansehen" not in words(client.get("/discharges/1"))


def test_an_ordinary_test_asks_nothing(client, store, battery):
    answer = post_test(client, battery, action="check")
    assert fields_of(answer) == []
    assert post_test(client, battery).status_code == 303


def marks(page):
    return [(one.text, one["href"]) for one in soup(page).select("main .hint a[href*=questions]")]


def test_a_test_with_an_open_question_is_marked_in_both_lists(client, store, battery, impossible):
    usual = discharge_details(days_ago=40)
    discharges.add_discharge(store, battery.id, usual, MeterKind.SHUNT, NOW)
    leads = ("question open", f"/discharges/{impossible.id}#questions-title")
    assert marks(client.get("/batteries")) == [leads]
    # Among the newest tests, and where all stand in full.
    for path in (f"/batteries/{battery.id}", f"/batteries/{battery.id}/tests"):
        assert marks(client.get(path)) == [leads]
    assert soup(client.get(leads[1])).find(id="questions-title")
    client.post(f"/discharges/{impossible.id}/meant")
    assert marks(client.get("/batteries")) == []
    assert marks(client.get(f"/batteries/{battery.id}")) == []


def test_several_are_counted_and_the_newest_is_led_to(client, store, battery, impossible):
    other = discharge_details(steady(hours=10, amps=90.0), days_ago=5)
    newest = discharges.add_discharge(store, battery.id, other, MeterKind.SHUNT, NOW)
    path = f"/discharges/{newest.id}#questions-title"
    assert marks(client.get("/batteries")) == [("question open in 2 tests", path)]
    led_to = [href for _, href in marks(client.get(f"/batteries/{battery.id}"))]
    assert led_to[0] == path
    assert set(led_to) == {path, f"/discharges/{impossible.id}#questions-title"}


def test_a_shared_page_says_nothing_of_open_questions(client, battery, impossible):
    answer = client.post(f"/batteries/{battery.id}/shares", data={})
    link = soup(answer).select_one("#address code").text
    page = client.get(link)
    assert page.status_code == 200
    assert "question open" not in page.text


LOG = "time,current (A),voltage (V),power (W)\n" + "\n".join(
    f"{hour + 8}:30,9.0,12.5,1125" for hour in range(11)
)


def test_watts_of_a_file_are_held_against_its_currents_before_it_is_stored(client, battery):
    """9 A x 12.5 V are 112.5 W; ten times as much stands there."""
    looked = post_test(client, battery, action="check", rows=[], pasted=LOG)
    assert "watts divided by volts come to 900 Ah, the currents to 90 Ah" in words(looked)
    (field,) = fields_of(looked)
    staged = soup(looked).find(attrs={"name": "staged"})["value"]
    refused = post_test(client, battery, rows=[], staged=staged)
    assert refused.status_code == 422
    assert stored_of(client, battery) == []
    stored = post_test(client, battery, rows=[], staged=staged, **{field: "yes"})
    assert stored.status_code == 303
    answer = "Checked, and right as entered. The column of watts contradicts the currents"
    assert answer in words(client.get("/discharges/1"))


def test_a_gauge_that_falls_ten_times_as_much_is_asked(client, battery):
    """0.9 A for ten hours are 9 Ah; the gauge falls by 80 % of 100 Ah."""
    rows = [
        (time, "0.9", volts, celsius, str(100 - 8 * i))
        for i, (time, _, volts, celsius, _) in enumerate(ROWS)
    ]
    said = words(post_test(client, battery, rows=rows))
    assert "The gauge does not fit the rated capacity: it falls by" in said
    assert "ten times as much?" in said


def test_a_test_before_the_service_of_its_battery_is_asked(client, store):
    since = battery_details(in_service_since=date(2026, 11, 2))
    battery = batteries.add_battery(store, since)
    answer = post_test(client, battery, day="2026-11-01")
    assert answer.status_code == 422
    assert "before 2 Nov 2026, the day since which the battery is in service" in words(answer)
    (field,) = fields_of(answer)
    assert post_test(client, battery, day="2026-11-01", **{field: "yes"}).status_code == 303
    assert post_test(client, battery, day="2026-11-02").status_code == 303
