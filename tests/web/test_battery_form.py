"""The form of a battery: what it takes, keeps and refuses."""

import re

import pytest

from app.domain.chemistry import Chemistry
from app.services.entities import batteries
from tests.builders import NOW, battery_details
from tests.web.conftest import refusals_of, soup
from tests.web.typed import BATTERY, as_sent, post_test


def test_a_battery_is_stored_from_its_label(client):
    response = client.post("/batteries", data=BATTERY, follow_redirects=True)
    assert response.status_code == 200
    assert "105 Ah" in soup(response).text


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("name", "", "name”: 1 to 80 characters"),
        ("rated_ah", "a lot", "rated capacity”: “a lot” does not fit. It needs a number from 0.1"),
        ("rated_ah", "-5", "“-5”"),
        ("rated_ah", "nan", "“nan”"),
        ("rated_ah", "inf", "“inf”"),
        ("rated_ah", "", "fill in “rated capacity”"),
        ("nominal_v", "1e999", "“1e999”"),
        ("chemistry", "uranium", "It needs one of: lithium iron phosphate"),
        ("reserve_percent", "95", "from 0 to 90 %"),
        ("in_service_since", "2099-01-01", "to today (25 Nov 2026)"),
        ("in_service_since", "yesterday", "It needs a date"),
        (
            "in_service_since",
            "15.03.2032",
            "It needs a day that is not in the future, so a date from",
        ),
        ("in_service_since", "15.3.32", "It needs a day that is not in the future, so a date from"),
        ("in_service_since", "32.3.2023", "It needs a day that exists, so a date from 1 Jan"),
        ("in_service_since", "2023-15-03", "It needs a day that exists, so a date from 1 Jan"),
        ("in_service_since", "30 Feb 2023", "It needs a day that exists, so a date from 1 Jan"),
        ("in_service_since", "2022", "or a month such as 2022-03"),
        ("in_service_since", "2022-13", "“2022-13” does not fit"),
        ("in_service_since", "2026-12", "“2026-12” does not fit"),
        ("in_service_since", "1950-03", "“1950-03” does not fit"),
        ("notes", "x" * 5000, "at most 4000 characters"),
    ],
)
def test_a_refused_battery_names_the_field_and_keeps_what_was_typed(client, field, value, words):
    response = client.post("/batteries", data=BATTERY | {field: value})
    assert response.status_code == 422
    page = soup(response)
    assert words in refusals_of(page)
    assert page.select_one(f"#problem-{field}")
    typed = page.find(id=field)
    if typed.name == "input":
        assert typed["value"] == value
    if field != "name":
        assert page.find(id="name")["value"] == "Cabin"
    assert soup(client.get("/")).select(".card") == []


@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        ("2022-03", "2022-03-15"),
        ("3/2022", "2022-03-15"),
        ("03.2022", "2022-03-15"),
        ("Mar 2022", "2022-03-15"),
        ("März  2022", "2022-03-15"),
        ("2022-03-31", "2022-03-31"),
        ("2026-11", "2026-11-15"),
    ],
)
def test_of_a_month_in_service_the_15th_is_taken_and_the_form_says_so(client, typed, stored):
    hint = " ".join(
        soup(client.get("/batteries/new")).select_one("#hint-in_service_since").text.split()
    )
    assert "Of a month, Fadeline takes the 15th." in hint
    client.post("/batteries", data=BATTERY | {"in_service_since": typed})
    assert soup(client.get("/batteries/1/edit")).find(id="in_service_since")["value"] == stored


def test_of_the_running_month_no_day_ahead_is_taken(client, app):
    app.state.clock = lambda: NOW.replace(day=4)
    client.post("/batteries", data=BATTERY | {"in_service_since": "2026-11"})
    page = soup(client.get("/batteries/1/edit"))
    assert page.find(id="in_service_since")["value"] == "2026-11-04"


def test_units_may_be_typed_and_the_stored_value_is_shown_in_the_unit_asked(client):
    values = BATTERY | {"rated_ah": "105000 mAh", "rated_temperature_c": "77 °F"}
    client.post("/batteries", data=values | {"test_interval_days": "13 weeks"})
    page = soup(client.get("/batteries/1/edit"))
    shown = [page.find(id=n)["value"] for n in ("rated_ah", "rated_temperature_c")]
    assert shown == ["105", "25"]
    assert page.find(id="test_interval_days")["value"] == "91"


def test_a_unit_of_another_kind_is_refused_and_stays_as_typed(client):
    page = soup(client.post("/batteries", data=BATTERY | {"rated_ah": "1280 Wh"}))
    assert "“1280 Wh” does not fit. It needs an amount of charge in Ah" in page.text
    assert page.find(id="rated_ah")["value"] == "1280 Wh"


def test_all_problems_are_told_at_once(client):
    response = client.post("/batteries", data=BATTERY | {"name": "", "rated_ah": "x"})
    assert len(soup(response).select(".problems li")) == 2


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"empty_under_load_v": "15"}, "“15” does not fit. It needs a number from 7.68 to 12.8 V"),
        ({"empty_under_load_v": "3.0"}, "7.68 to 12.8 V for this battery; 3 V a cell would be 12"),
        ({"cut_off_v": "2.5"}, "7.68 to 12.8 V for this battery; 2.5 V a cell would be 10 V"),
        ({"cut_off_v": "0.4"}, "“0.4” does not fit. It needs a number from 7.68 to 12.8 V"),
        (
            {"chemistry": "flooded", "nominal_v": "24", "cut_off_v": "1.75"},
            "14.4 to 24 V for this battery; 1.75 V a cell would be 21 V",
        ),
    ],
)
def test_an_empty_voltage_is_one_of_the_whole_battery(client, values, words):
    response = client.post("/batteries", data=BATTERY | values)
    assert response.status_code == 422
    assert words in refusals_of(soup(response))


@pytest.mark.parametrize("empty", ["12.4", "10", "12.8"])
def test_a_label_that_rounds_leaves_room_for_its_cells(client, empty):
    # Four cells of 3.2 V under a label of 12 V.
    values = BATTERY | {"nominal_v": "12", "empty_under_load_v": empty}
    assert client.post("/batteries", data=values, follow_redirects=False).status_code == 303


def test_a_voltage_that_was_stored_before_is_shown_and_refused_only_when_it_is_stored(client, app):
    old = batteries.add_battery(app.state.store, battery_details(empty_under_load_v=3.0))
    edit = client.get(f"/batteries/{old.id}/edit")
    assert edit.status_code == 200
    sent = as_sent(soup(edit))
    again = client.post(f"/batteries/{old.id}", data=sent)
    assert again.status_code == 422
    assert "3 V a cell would be 12 V" in refusals_of(soup(again))
    mended = client.post(
        f"/batteries/{old.id}", data=sent | {"empty_under_load_v": "12"}, follow_redirects=False
    )
    assert mended.status_code == 303


@pytest.mark.parametrize("cut_off", ["12.7", "12.6"])
def test_a_cut_off_above_the_whole_test_is_refused_and_no_page_breaks(client, battery, cut_off):
    rows = [(f"{h}:00", "9.0", f"{12.6 - h * 0.1:.1f}", 22, 100 - 9 * h) for h in range(10)]
    rows.append(("10:00", "9.0", "10.2", 23, 10))
    post_test(client, battery, rows=rows)
    values = BATTERY | {"cut_off_v": cut_off}
    response = client.post(f"/batteries/{battery.id}", data=values)
    assert response.status_code == 422
    assert "the first voltage under load" in response.text
    for path in ("/", f"/batteries/{battery.id}", "/discharges/1"):
        assert client.get(path).status_code == 200
    assert post_test(client, battery, rows=rows, cut_off_v=cut_off).status_code == 422


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
    assert words in response.text.replace("\u00a0", " ")


def test_a_threshold_by_nights_needs_a_use_and_nights(client):
    response = client.post("/batteries", data=BATTERY | {"threshold_kind": "nights"})
    assert len(soup(response).select(".problems li")) == 2


FEW = ["name", "chemistry", "rated_ah", "nominal_v", "in_service_since"]


def unfolded(page):
    """The fields of the main form that stand in sight."""
    return [
        one["name"]
        for one in page.main.select("input:not([type=hidden]), select, textarea")
        if not one.find_parent("details", open=False)
    ]


def test_a_new_battery_asks_for_what_its_label_says_and_folds_the_rest(client):
    assert unfolded(soup(client.get("/batteries/new"))) == FEW


@pytest.mark.parametrize(
    ("name", "typed"),
    [
        ("reserve_percent", "95"),
        ("price", "x"),
        ("serial_number", "x" * 999),
        ("notes", "x" * 9999),
    ],
)
def test_a_fold_in_which_something_is_wrong_is_open(client, name, typed):
    client.post("/batteries", data=BATTERY)
    form = soup(client.get("/batteries/1/edit"))
    assert form.find(id=name)
    assert name not in unfolded(form)
    sent = BATTERY | {"seen": form.find(attrs={"name": "seen"})["value"], name: typed}
    assert name in unfolded(soup(client.post("/batteries/1", data=sent)))


def test_what_was_sent_of_a_part_that_the_new_form_does_not_ask_for_is_shown_again(client):
    answer = client.post("/batteries", data=BATTERY | {"warranty_years": "x", "price": "900"})
    page = soup(answer)
    assert answer.status_code == 422
    assert "warranty_years" in unfolded(page)
    assert page.find(id="price")["value"] == "900"


def test_a_comma_that_may_stand_between_thousands_is_asked_about(client):
    page = soup(client.post("/batteries", data=BATTERY | {"rated_ah": "1,200"}))
    assert "1200 Ah or 1.200 Ah: the comma could mean either" in refusals_of(page)
    assert page.find(id="rated_ah")["value"] == "1,200"


@pytest.mark.parametrize("typed", ["120,5", "120.5"])
def test_a_fraction_of_the_rated_capacity_is_shown_everywhere(client, typed):
    client.post("/batteries", data=BATTERY | {"rated_ah": typed})
    assert "120.5 Ah" in client.get("/batteries/1").text.replace("\u00a0", " ")
    assert soup(client.get("/batteries/1/edit")).find(id="rated_ah")["value"] == "120.5"


@pytest.mark.parametrize(
    ("price", "currency", "stored"),
    [
        ("499 €", "", ("499", "€")),
        ("EUR 1200,50", "", ("1200.5", "EUR")),
        ("499kr", "", ("499", "kr")),
        ("$ 499", "$", ("499", "$")),
        ("499", "EUR", ("499", "EUR")),
    ],
)
def test_a_price_may_bring_its_currency(client, price, currency, stored):
    client.post("/batteries", data=BATTERY | {"price": price, "currency": currency})
    form = soup(client.get("/batteries/1/edit"))
    assert tuple(form.find(id=name)["value"] for name in ("price", "currency")) == stored


@pytest.mark.parametrize(
    ("price", "currency"), [("499 €", "$"), ("1k", ""), ("499 € plus", ""), ("€", ""), ("-5 €", "")]
)
def test_a_price_that_is_none_is_refused_as_it_was_typed(client, price, currency):
    response = client.post("/batteries", data=BATTERY | {"price": price, "currency": currency})
    assert response.status_code == 422
    assert f"“{price}” does not fit" in refusals_of(soup(response))


PARTS = [
    ("road", {"daily_use_ah": "24", "cold_week_c": "3", "rows": "4"}),
    ("warranty", {"warranty_years": "5", "warranty_from": "2024-01-01", "price": "900"}),
    ("heat", {"drawn_ah_a_week": "120", "waits_at_low_percent": "30"}),
]


@pytest.mark.parametrize(("part", "asked"), PARTS)
def test_what_a_page_uses_is_asked_for_there_and_changes_nothing_else(client, battery, part, asked):
    path = f"/batteries/{battery.id}"
    before = soup(client.get(f"{path}/edit"))
    form = soup(client.get(f"{path}/{part}")).select_one(f"form[action='{path}/{part}']")
    sent = {one["name"]: one.get("value", "") for one in form.select("input")} | asked
    answer = client.post(f"{path}/{part}", data=sent)
    assert answer.url.path == f"{path}/{part}"
    assert soup(answer).select_one(".notice form")
    after = soup(client.get(f"{path}/edit"))
    for one in before.main.select("input:not([type=hidden]), textarea"):
        wanted = asked.get(one["name"], one.get("value", ""))
        assert after.find(id=one["id"]).get("value", "") == wanted, one["name"]
    assert after.find(id="corrects_rate").has_attr("checked")


def test_a_part_takes_no_field_of_another(client, battery):
    client.post(f"/batteries/{battery.id}/heat", data={"drawn_ah_a_week": "9", "name": "Other"})
    page = soup(client.get(f"/batteries/{battery.id}/edit"))
    assert page.find(id="name")["value"] == battery.details.name
    assert page.find(id="drawn_ah_a_week")["value"] == "9"


def test_a_refused_part_is_asked_again_with_all_that_was_typed(client, battery):
    sent = {"daily_use_ah": "x", "appliance_0": "lamp", "appliance_w_0": "9", "appliance_h_0": "4"}
    answer = client.post(f"/batteries/{battery.id}/road", data=sent | {"rows": "4"})
    page = soup(answer)
    assert answer.status_code == 422
    assert page.select_one("#problem-daily_use_ah")
    assert page.find(id="appliance_0")["value"] == "lamp"
    assert page.find(id="name")["value"] == battery.details.name


def test_a_part_filled_in_from_an_older_version_replaces_nothing_unseen(client, battery):
    path = f"/batteries/{battery.id}"
    page = soup(client.get(f"{path}/heat"))
    seen = page.select_one(f"form[action='{path}/heat'] [name=seen]")["value"]
    client.post(f"{path}/heat", data={"seen": seen, "drawn_ah_a_week": "9"})
    answer = client.post(f"{path}/heat", data={"seen": seen, "drawn_ah_a_week": "11"})
    assert answer.status_code == 422
    assert soup(client.get(f"{path}/edit")).find(id="drawn_ah_a_week")["value"] == "9"


@pytest.mark.parametrize("chemistry", Chemistry)
def test_the_form_says_at_which_voltage_a_cell_of_each_chemistry_is_empty(client, chemistry):
    told = soup(client.get("/batteries/new")).find(id="hint-empty_under_load_v").text
    family = chemistry.label.partition(",")[0]
    (said,) = re.findall(
        rf"([\d.]+) V (?:a cell )?for {family}", told.replace("\N{NO-BREAK SPACE}", " ")
    )
    assert float(said) == chemistry.empty_cell_v
