"""The pages around the road and the warranty, their form and their JSON."""

from datetime import UTC, datetime, timedelta
from urllib.parse import urlsplit

import pytest

from app.domain.entities.meter import MeterKind
from app.services.entities import batteries, discharges
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.web.conftest import refusals_of, soup
from tests.web.typed import BATTERY, as_sent

ROWS = {
    "rows": "4",
    "appliance_0": "cool box",
    "appliance_a_0": "3,5",
    "appliance_h_0": "8",
    "appliance_2": "lamp",
    "appliance_w_2": "12.8",
    "appliance_h_2": "4",
}
TERMS = {
    "in_service_since": "2023-01-31",
    "warranty_years": "5",
    "warranty_percent": "80",
    "warranty_cycles": "3000",
    "price": "1200",
    "currency": "EUR",
    "drawn_ah_a_week": "150",
    "charge_ah_a_day": "12",
    "cold_week_c": "-5",
    "waits_at_low_percent": "40",
    "waits_at_high_percent": "90",
}


def changed(client, store, battery, **changes):
    details = battery_details(**changes)
    return batteries.change_battery(store, battery.id, details, NOW)


def words(page):
    return " ".join(page.main.text.split())


def test_terms_use_and_appliances_are_stored_and_shown_again(client, store):
    posted = client.post("/batteries", data=BATTERY | TERMS | ROWS, follow_redirects=False)
    assert posted.status_code == 303
    about = batteries.get_battery(store, 1).details
    assert about.warranty_share == pytest.approx(0.8)
    assert (about.warranty_years, about.warranty_cycles) == (5, 3000)
    assert (about.waits_at_low_share, about.waits_at_high_share) == (0.4, 0.9)
    assert [one.name for one in about.appliances] == ["cool box", "lamp"]
    # 3.5 A x 8 h + 12.8 W / 12.8 V x 4 h, by hand.
    assert about.use_ah_a_day == pytest.approx(32.0)
    page = soup(client.get("/batteries/1/edit"))
    for name, value in TERMS.items():
        assert page.find(id=name)["value"] == value
    assert page.find(id="appliance_w_1")["value"] == "12.8"


def test_a_form_without_the_newer_fields_means_what_it_always_meant(client, store):
    client.post("/batteries", data=BATTERY)
    about = batteries.get_battery(store, 1).details
    assert (about.waits_at_low_share, about.waits_at_high_share) == (0.5, 1.0)
    assert about.appliances == ()


@pytest.mark.parametrize(
    ("changes", "field", "told"),
    [
        ({"full_discharges_a_year": "40"}, "drawn_ah_a_week", "150 Ah a week and 40 full"),
        ({"in_service_since": ""}, "warranty_from", "fill in “first day of the warranty”"),
        (
            {"warranty_percent": "120"},
            "warranty_percent",
            "“120” does not fit. It needs a number from 10",
        ),
        ({"warranty_years": "0"}, "warranty_years", "above 0 and up to 50 years"),
        ({"warranty_from": "2099-01-01"}, "warranty_from", "to today (25 Nov 2026)"),
        ({"waits_at_low_percent": "95"}, "waits_at_low_percent", "from 0 to 90 %"),
        ({"cold_week_c": "-60"}, "cold_week_c", "from −40 to 40 °C"),
        (
            {"appliance_w_0": "40"},
            "appliance_a_0",
            "row 1”: “3,5 A and 40 W” does not fit. It needs either",
        ),
        ({"appliance_a_0": ""}, "appliance_a_0", "row 1”: either its current"),
        ({"appliance_h_0": "25"}, "appliance_h_0", "hours a day of the appliance in row 1"),
        ({"appliance_h_2": ""}, "appliance_h_2", "appliance in row 3”: "),
        ({"appliance_0": ""}, "appliance_0", "name of the appliance in row 1”: "),
        ({"appliance_a_0": "lots"}, "appliance_a_0", "current of the appliance in row 1"),
    ],
)
def test_what_contradicts_itself_is_refused_by_name_and_kept(client, store, changes, field, told):
    response = client.post("/batteries", data=BATTERY | TERMS | ROWS | changes)
    assert response.status_code == 422
    page = soup(response)
    assert told in refusals_of(page)
    assert page.select_one(f".problems a[href='#{field}']")
    assert page.find(id=field)
    for name, value in (TERMS | ROWS | changes).items():
        kept = page.find(id=name)
        assert kept is None or kept["value"] == value
    assert batteries.kept_batteries(store) == []


def test_ended_terms_and_cycles_with_years_are_fine(client, store):
    values = TERMS | {"warranty_from": "2010-05-01", "in_service_since": ""}
    assert client.post("/batteries", data=BATTERY | values).status_code == 200
    assert batteries.get_battery(store, 1).details.warranty.ends_on.year == 2015


def test_more_rows_are_shown_without_storing(client, store):
    response = client.post("/batteries", data=BATTERY | ROWS | {"action": "more_rows"})
    page = soup(response)
    assert response.status_code == 200
    assert len(page.select("table.appliances tbody tr")) == 8
    assert page.find(id="appliance_0")["value"] == "cool box"
    assert batteries.kept_batteries(store) == []


def test_enter_stores_and_does_not_ask_for_rows(client):
    form = soup(client.get("/batteries/new")).find("form")
    assert form.find("button").get("name") is None


def test_the_answer_stands_before_everything_else(client, store, battery, tested):
    changed(client, store, battery, daily_use_ah=20.0, nights=2, cold_week_c=-5.0)
    page = soup(client.get(f"/batteries/{tested.id}/road"))
    text = words(page)
    first = page.select_one(".glance > div")
    assert first.dt.text == "Without charging"
    assert first.strong.text.startswith("3.")
    assert "9 in 10: " in first.dd.text
    order = ["count on 3 whole nights", "At today’s use", "When 2 nights no longer work"]
    assert [text.index(one) for one in order] == sorted(text.index(one) for one in order)
    assert page.select_one("figure.chart [data-chart$='.json']")
    assert "Do not charge a lithium battery below 0 °C" in text
    rows = page.select("table.readings")[0].select("tbody tr")
    assert [row.th.text for row in rows] == [
        "Now, without charging",
        "Now, in a cold week at −5 °C, without charging",
    ]


def test_a_day_and_a_wish_are_answered(client, store, battery, tested):
    changed(client, store, battery, daily_use_ah=20.0)
    page = soup(client.get(f"/batteries/{tested.id}/road?on=2028-06-01&nights=1.5"))
    assert "On 1 Jun 2028, without charging" in words(page)
    assert "When 1.5 nights no longer work" in words(page)
    assert page.find(id="on")["value"] == "2028-06-01"


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("on=1999-01-01", "date”: “1999-01-01” does not fit. It needs a date from today"),
        ("on=2199-01-01", "date”: “2199-01-01”"),
        ("on=soon", "date”: “soon”"),
        ("nights=many", "nights without charging”: “many”"),
        ("nights=0", "above 0 and up to 365"),
        ("beside=x", "second battery”: “x”"),
        ("beside=1", "another battery than this one"),
    ],
)
def test_a_question_that_cannot_be_answered_is_refused_by_name(
    client, store, battery, tested, query, told
):
    changed(client, store, battery, daily_use_ah=20.0)
    response = client.get(f"/batteries/{tested.id}/road?{query}")
    assert response.status_code == 422
    assert told in refusals_of(soup(response))
    # The answer as far as it needs no question stands there all the same.
    assert "count on 3 whole nights" in response.text
    asked = client.get(f"/api/batteries/{tested.id}/road?{query}")
    assert asked.status_code == 422


def test_a_second_battery_comes_with_its_cautions(client, store, battery, tested):
    changed(client, store, battery, daily_use_ah=20.0)
    other = batteries.add_battery(store, battery_details(name="Second"))
    page = soup(client.get(f"/batteries/{tested.id}/road?beside={other.id}"))
    text = words(page)
    assert "In parallel with Second" in text
    for caution in ("fuse for each battery", "same state of charge", "datasheet comes first"):
        assert caution in text


def test_an_unequal_second_battery_is_refused(client, store, battery, tested):
    other = batteries.add_battery(store, battery_details(name="Second", nominal_v=25.6))
    response = client.get(f"/batteries/{tested.id}/road?beside={other.id}")
    assert response.status_code == 422
    assert "must not be joined in parallel" in response.text


def test_without_a_test_the_page_says_so(client, store, battery):
    changed(client, store, battery, daily_use_ah=20.0)
    text = words(soup(client.get(f"/batteries/{battery.id}/road")))
    assert "4.0 nights by the label" in text
    assert "nobody has measured it" in text
    assert "No longer works" not in text


def test_the_warranty_page_answers_with_the_claim_and_the_cost(client, store, battery, tested):
    changed(
        client,
        store,
        battery,
        warranty_share=0.95,
        warranty_years=10.0,
        warranty_cycles=2000.0,
        in_service_since=NOW.date().replace(year=2022),
        price=900.0,
        currency="EUR",
        drawn_ah_a_week=120.0,
        rated_hours=10.0,
    )
    page = soup(client.get(f"/batteries/{tested.id}/warranty"))
    text = words(page)
    assert page.select_one(".glance strong").text == "yes"
    assert "Yes, as far as a test can" in text
    assert "a result of at most" in text
    assert "EUR a kWh" in text
    assert "of 2000, estimated by you" in text
    assert "The last quarter to test is 25 Aug 2032 to 25 Nov 2032" in text


@pytest.mark.parametrize("lately", [0.01, 0.04])
def test_a_line_beside_a_faster_fade_says_which_of_the_two_is_believed(
    client, store, battery, lately
):
    """Six tests at 1 % a year, then five at 1 or at 4: only then is the line the wrong one."""
    changed(client, store, battery, warranty_share=0.8, warranty_years=30.0)
    losses = [0.01 * n for n in range(6)] + [0.05 + lately * n for n in range(1, 6)]
    for age, loss in enumerate(reversed(losses)):
        readings = steady(amps=9.8 * (1 - loss), step_h=0.5)
        details = discharge_details(readings, days_ago=10 + 365 * age)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    believed = lately == 0.04
    for page, said, else_said in (
        ("warranty", "Believe the newest test instead", "A maker need not accept it"),
        ("report", "Believe the projected end and not this line", None),
    ):
        text = words(soup(client.get(f"/batteries/{battery.id}/{page}")))
        assert (said in text) is believed
        assert else_said is None or (else_said in text) is not believed
    overview = words(soup(client.get(f"/batteries/{battery.id}")))
    assert ("Loses lately" in overview) is believed


def test_without_terms_the_warranty_page_asks_for_them(client, store, battery):
    changed(client, store, battery, price=None)
    text = words(soup(client.get(f"/batteries/{battery.id}/warranty")))
    assert "Enter the share of the rated capacity that the warranty promises" in text
    assert "Type its price" in text


def test_pages_and_json_say_the_same(client, store, battery, tested):
    changed(client, store, battery, daily_use_ah=20.0, warranty_share=0.8)
    road = client.get(f"/api/batteries/{tested.id}/road").json()
    middle = road["situations"][0]["nights"]["nights"]["middle"]
    assert f"{middle:.2f} nights" in client.get(f"/batteries/{tested.id}/road").text
    claim = client.get(f"/api/batteries/{tested.id}/warranty").json()["claim"]
    assert claim["words"] in soup(client.get(f"/batteries/{tested.id}/warranty")).text


def test_the_battery_s_page_leads_there_and_says_why_a_test_is_due(client, tested):
    page = soup(client.get(f"/batteries/{tested.id}"))
    links = [link["href"] for link in page.select("main a")]
    assert f"/batteries/{tested.id}/road" in links
    assert f"/batteries/{tested.id}/warranty" in links
    assert "You test it every 91 days" in words(page)
    assert "Published practice would not wait beyond" in words(page)


def test_the_calendar_file_says_why_the_test_is_due(client, tested):
    text = client.get(f"/batteries/{tested.id}/next-test.ics").text.replace("\r\n ", "")
    assert "You test it every 91 days." in text


def test_a_clock_before_the_first_test_is_named(client, app, tested):
    app.state.clock = lambda: datetime(1970, 1, 1, tzinfo=UTC)
    for query in ("", "?on=2027-01-01", "?nights=3"):
        answer = client.get(f"/batteries/{tested.id}/road{query}")
        assert answer.status_code == 422
        assert "set the clock of this machine" in answer.text


def test_a_first_test_dated_by_a_clock_ahead_of_this_machine_is_judged_as_of_its_day(
    client, app, store, battery
):
    """New Zealand notes its morning while it is the evening before in UTC."""
    details = discharge_details(steady(hours=10), days_ago=0)
    discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    app.state.clock = lambda: NOW - timedelta(days=1)
    assert client.get(f"/batteries/{battery.id}/road").status_code == 200


def test_a_mended_form_goes_back_to_the_page_that_asked(client, battery):
    sent = {"daily_use_ah": "25", "cold_week_c": "cold"}
    refused = client.post(f"/batteries/{battery.id}/road", data=sent)
    assert refused.status_code == 422
    mended = as_sent(soup(refused).select_one("form.battery")) | {"cold_week_c": "2"}
    answer = client.post(f"/batteries/{battery.id}", data=mended, follow_redirects=False)
    assert urlsplit(answer.headers["location"]).path.endswith(f"/batteries/{battery.id}/road")


def test_a_cost_without_a_known_use_leads_to_where_it_is_told(client, store, battery, tested):
    changed(client, store, battery, price=900.0, currency="EUR")
    page = soup(client.get(f"/batteries/{tested.id}/warranty"))
    (link,) = page.select('main a[href$="/heat#drawn_ah_a_week"]')
    heat = soup(client.get(urlsplit(link["href"]).path))
    assert heat.find(id="drawn_ah_a_week").name == "input"
    used = {"drawn_ah_a_week": 99.0, "in_service_since": NOW.date().replace(year=2022)}
    changed(client, store, battery, price=900.0, **used)
    page = soup(client.get(f"/batteries/{tested.id}/warranty"))
    assert not page.select('main a[href$="#drawn_ah_a_week"]')
