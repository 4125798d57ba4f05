"""The form of a battery: what it takes, keeps and refuses."""

import pytest

from tests.web.conftest import soup
from tests.web.typed import BATTERY, post_test


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


def test_all_problems_are_told_at_once(client):
    response = client.post("/batteries", data=BATTERY | {"name": "", "rated_ah": "x"})
    assert len(soup(response).select(".problems li")) == 2


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
