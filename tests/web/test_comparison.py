from datetime import date

import pytest

from app.domain.entities.discharge import EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.share import SharePart
from app.services.access import shares
from app.services.entities import batteries, discharges, events
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.web.conftest import refusals_of, soup

BOTH = "/comparison?battery=1&battery=2"


@pytest.fixture
def two(store):
    """Hot and Cool, numbers 1 and 2, with four tests each in three years."""
    made = []
    for name, step in (("Hot", 0.5), ("Cool", 0.1)):
        battery = batteries.add_battery(store, battery_details(name=name))
        for i in range(4):
            details = discharge_details(
                steady(11.5 - step * i, step_h=0.5),
                days_ago=10 + 365 * (3 - i),
                end_reason=EndReason.PROTECTION,
            )
            discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
        made.append(battery.id)
    return made


def problems(client, query):
    response = client.get(f"/comparison?{query}")
    assert response.status_code == 422
    return refusals_of(soup(response))


def test_the_answer_stands_before_the_chart_and_the_chart_before_all_else(client, two):
    page = client.get(BOTH)
    text = page.text
    assert page.status_code == 200
    order = [text.index(mark) for mark in ("Fades faster", "<figure", "Hot fades faster than Cool")]
    assert order == sorted(order)
    assert "not why" in text
    assert len(soup(page).select("figure.chart")) == 2


def test_the_page_and_its_twin_say_the_same(client, two):
    twin = client.get("/api" + BOTH).json()
    page = soup(client.get(BOTH))
    gap = twin["pairs"][0]["difference"]
    cells = [cell.text for cell in page.select("table.sides")[1].select("td")]
    assert cells[0] == f"{gap['points_per_year']:.1f} {gap['low']:.1f} to {gap['high']:.1f}"
    assert twin["words"][0] in " ".join(page.text.split())
    assert page.select_one("a[href^='/api/comparison']")["href"] == "/api" + BOTH


def test_the_difference_worth_knowing_is_chosen_in_the_address(client, two):
    twin = client.get("/api" + BOTH + "&show=0,4").json()
    assert twin["shown_points"] == 0.4
    assert twin["pairs"][0]["further"] > client.get("/api" + BOTH).json()["pairs"][0]["further"]


def test_before_and_after_a_recorded_move_is_linked_from_the_battery_and_from_the_page(
    client, store, two
):
    events.add_event(store, 1, date(2025, 5, 25), EventKind.MOVED, "to the roof")
    address = "/comparison?battery=1&moved_on=2025-05-25"
    for path in ("/batteries/1", "/comparison"):
        assert soup(client.get(path)).select_one(f"a[href='{address}']")
    page = soup(client.get(address))
    assert page.h1.text == "Hot before and after 25 May 2025"
    assert "the move it fades" in page.text


def test_without_a_choice_there_is_only_the_form(client, two):
    page = soup(client.get("/comparison"))
    assert [box["value"] for box in page.select("input[name=battery]")] == ["2", "1"]
    assert not page.select("input[checked]")
    assert not page.select("figure")
    assert not page.select("script[src*=chart]")


def test_whoever_comes_from_a_battery_finds_it_ticked_and_nothing_refused(client, two):
    link = soup(client.get("/batteries/1")).main.select_one("a[href^='/comparison']")["href"]
    response = client.get(link)
    assert response.status_code == 200
    assert [box["value"] for box in soup(response).select("input[checked]")] == ["1"]


def test_of_many_batteries_those_to_choose_from_are_found_by_name(client, store, two):
    assert not soup(client.get("/comparison")).select("#find")
    for number in range(45):
        batteries.add_battery(store, battery_details(name=f"Van {number:02d}"))
    page = soup(client.get("/comparison?battery=1&find=van+04&choose=1&moved_on=&show=0.5"))
    boxes = page.select("input[name=battery]")
    assert [one.parent.text.strip() for one in boxes] == ["Hot", "Van 04"]
    assert [one["value"] for one in boxes if one.has_attr("checked")] == ["1"]
    assert not page.select(".problems")
    # The Enter key in that field looks, too, until two are ticked.
    entered = soup(client.get("/comparison?battery=1&find=cool&moved_on=&show=0.5"))
    assert [one["value"] for one in entered.select("input[name=battery]")] == ["2", "1"]
    both = soup(client.get(f"{BOTH}&find=cool&moved_on=&show=0.5"))
    assert both.select("figure.chart")


def test_with_too_few_batteries_it_says_what_to_do(client, store):
    page = soup(client.get("/comparison"))
    assert page.select_one(".claim").text == "Add the batteries that you want to compare."
    assert page.select_one("main a.button")["href"] == "/batteries/new"
    assert not page.select("main form")
    batteries.add_battery(store, battery_details(name="Alone"))
    page = soup(client.get("/comparison"))
    assert page.select_one(".claim").text.startswith("Add a second battery, or compare this one")
    assert page.select_one("main form")


def test_from_a_comparison_one_comes_to_others_with_the_same_ticked(client, two):
    link = soup(client.get(BOTH)).main.select_one("a.button")["href"]
    boxes = soup(client.get(link)).select("input[checked]")
    assert {box["value"] for box in boxes} == {"1", "2"}


def test_the_list_leads_to_it(client, two):
    assert soup(client.get("/")).select_one("a[href='/comparison']")


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        ("battery=1&battery=1", "“Hot more than once” does not fit. It needs each battery once"),
        ("battery=1&battery=9", "“9” does not fit. It needs numbers of your batteries: 1, 2"),
        ("battery=1&battery=x", "“x” does not fit. It needs the number of a battery"),
        (
            "battery=1",
            "“1” does not fit. It needs 2 to 6 batteries, or one with the date of a move",
        ),
        ("show=1", "“0” does not fit. It needs 2 to 6 batteries"),
        ("battery=1&moved_on=2020-01-01", "0 measured before it and 4 after"),
        ("battery=1&moved_on=2026-11-25", "(needed: 2 more after it)"),
        ("battery=1&moved_on=2030-01-01", "a date from 1 Jan 1970 to today (25 Nov 2026)"),
        ("battery=1&moved_on=soon", "“soon” does not fit. It needs a date"),
        ("battery=1&battery=2&moved_on=2025-01-01", "a date only with a single battery"),
        (
            "battery=1&battery=2&show=x",
            "“x” does not fit. It needs a number above 0 and up to 100 points",
        ),
        (
            "battery=1&battery=2&show=0",
            "“0” does not fit. It needs a number above 0 and up to 100 points",
        ),
        (
            "battery=1&battery=2&show=-1",
            "“-1” does not fit. It needs a number above 0 and up to 100",
        ),
        ("battery=1&battery=2&show=", "”: a number above 0 and up to 100"),
    ],
)
def test_what_cannot_be_compared_is_refused_with_value_and_range(client, two, query, sentence):
    assert sentence in problems(client, query)
    twin = client.get(f"/api/comparison?{query}")
    assert twin.status_code == 422
    assert sentence in " ".join(twin.json()["details"])


def test_a_refusal_keeps_what_was_chosen_and_typed(client, two):
    page = soup(client.get("/comparison?battery=1&battery=2&show=much"))
    assert len(page.select("input[checked]")) == 2
    assert page.select_one("input[name=show]")["value"] == "much"
    assert page.select_one("#problem-show")


def test_all_problems_are_told_at_once(client, two):
    text = problems(client, "battery=x&show=0&moved_on=soon")
    assert text.count("It needs") == 3


def test_a_battery_without_a_rate_is_said_on_the_page(client, store, two):
    batteries.add_battery(store, battery_details(name="Untested"))
    page = client.get("/comparison?battery=1&battery=3")
    assert page.status_code == 200
    assert "Hot and Untested cannot be compared. Untested: No test yet." in page.text


def test_several_batteries_are_called_out_for_chance(client, store, two):
    batteries.add_battery(store, battery_details(name="Third"))
    page = client.get("/comparison?battery=1&battery=2&battery=3")
    assert "some look different by chance" in page.text
    assert len(soup(page).select("table.sides")[1].select("tbody tr")) == 3


def test_a_shared_link_to_two_shows_their_difference_with_its_interval(client, store, two):
    wish = shares.ShareWish(beside=(2,))
    share = shares.share_battery(store, 1, "", None, NOW, wish)
    page = client.get(f"/shared/{share.token}")
    assert "Hot fades faster than Cool by" in page.text
    assert "very likely" in page.text
    assert "not why" in page.text
    twin = client.get(f"/api/shared/{share.token}").json()["comparison"]
    own = client.get("/api" + BOTH).json()
    gap = own["pairs"][0]["difference"]
    assert twin["words"] == own["words"]
    assert twin["differences"][0]["low"] == gap["low"]
    assert twin["differences"][0]["high"] == gap["high"]


def test_a_shared_link_without_the_fade_shows_no_difference(client, store, two):
    wish = shares.ShareWish(frozenset({SharePart.TESTS}), beside=(2,))
    share = shares.share_battery(store, 1, "", None, NOW, wish)
    assert "fades faster" not in client.get(f"/shared/{share.token}").text
    assert client.get(f"/api/shared/{share.token}").json()["comparison"] is None
