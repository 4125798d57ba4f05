import io
from dataclasses import replace
from datetime import timedelta
from urllib.parse import urlsplit

import pytest
import segno

from app.domain.share import SharePart
from app.services.access import shares
from app.services.entities import batteries
from tests.builders import NOW, battery_details
from tests.conftest import here
from tests.postgres import another_writing
from tests.web.conftest import refusals_of, soup

PRIVATE = ("SECRETPLACE", "SECRETSERIAL", "SECRETNOTES", "SECRETTESTNOTES", "987654")


@pytest.fixture
def link(client, tested):
    """A link made with one press on the battery's page."""
    return made_link(client, tested)


def made_link(client, battery, **form):
    page = soup(client.post(f"/batteries/{battery.id}/shares", data=form))
    return page.select_one("#address code").text


def test_a_link_opens_in_a_browser_that_knows_nothing(app, link):
    with here(app) as stranger:
        page = soup(stranger.get(link))
    assert page.h1.text == "Bench battery"
    assert page.select_one("figure.chart")
    assert len(page.select(".all .scroll tbody tr")) == 5


def test_a_shared_page_holds_nothing_private_and_no_way_to_change(client, tested, link):
    client.post(
        f"/batteries/{tested.id}/events",
        data={"on_date": "2026-05-01", "kind": "moved", "note": "SECRETEVENT"},
    )
    for address in (link, link.replace("/shared/", "/api/shared/")):
        text = client.get(address).text
        for private in (*PRIVATE, "SECRETEVENT"):
            assert private not in text
    page = soup(client.get(link))
    assert page.select("form, button, input") == []
    leads = {a["href"].split("=")[0] for a in page.select("a[href]")}
    # Of the page itself alone: its beginning, its charts as files, and what it shows as data.
    assert leads == {"#main", "?chart", f"/api{urlsplit(link).path}"}
    for a in page.select("a[href^='?chart']"):
        text = client.get(link + a["href"]).text
        assert not [private for private in (*PRIVATE, "SECRETEVENT") if private in text]


def test_it_says_how_it_was_measured_in_three_lines_without_a_meters_name(client, link):
    page = soup(client.get(link))
    lines = {line.dt.text: line.dd.text for line in page.select("dl.how > div")}
    assert lines == {
        "Meter": "Shunt with display, off by at most 1 % and 0.05 A by its stated limits.",
        "Charge and end": "5 tests began full and ended with the battery empty.",
        "Conditions": "9 A, 24 °C; nothing corrected.",
    }
    assert "This page does not claim that the readings are true" in page.main.text


def test_how_it_was_measured_is_not_told_where_the_tests_are_not_shown(client, tested):
    page = soup(client.get(made_link(client, tested, chosen="yes", show_fade="on")))
    assert page.select("dl.how") == []
    assert "Shunt" not in page.text


def test_one_test_says_how_it_was_measured(client, tested):
    page = soup(client.get(made_link(client, tested, test="2")))
    lines = [" ".join(line.dd.text.split()) for line in page.select("dl.how > div")]
    assert lines[0].startswith("Shunt with display, off by at most 1 %")
    assert lines[1].startswith(
        "Charged full, then rested an hour or more; ended because the battery's"
    )
    assert lines[2].startswith("Lamps, 9.0 A for 11.5 h, 24 °C; ")


def test_a_shared_page_asks_search_engines_to_stay_away_and_sets_nothing(client, link):
    response = client.get(link)
    assert "noindex" in response.headers["x-robots-tag"]
    assert response.headers["referrer-policy"] == "no-referrer"
    assert "set-cookie" not in response.headers


def test_wrong_ended_and_revoked_links_look_the_same(client, store, tested, link):
    ended = shares.share_battery(store, tested.id, "", NOW - timedelta(days=1), NOW)
    revoked = shares.share_battery(store, tested.id, "", None, NOW)
    client.post(f"/shares/{revoked.id}/revoke")
    answers = [client.get(f"/shared/{t}") for t in ("wrong", ended.token, revoked.token)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.text for answer in answers}) == 1


def test_all_open_links_stand_in_one_list_and_are_closed_by_one_press(client, store, tested):
    binned = batteries.add_battery(store, battery_details(name="Put away"))
    made = [
        shares.share_battery(store, tested.id, "For the club", None, NOW),
        shares.share_battery(store, tested.id, "", NOW + timedelta(days=9), NOW),
        shares.share_battery(store, tested.id, "Ended", NOW - timedelta(seconds=1), NOW),
        shares.share_battery(store, binned.id, "", None, NOW),
    ]
    client.post(f"/bin/battery/{binned.id}")
    page = soup(client.get("/network"))
    named = [one.text.strip() for one in page.select(".links a")]
    assert named == ["Bench battery", "Bench battery: For the club"]
    page = soup(client.post(page.select_one("details form")["action"]))
    assert "No link is open" in page.main.text
    client.post(f"/bin/battery/{binned.id}/restore")
    answers = [client.get(f"/shared/{one.token}").status_code for one in made]
    assert answers == [404] * 4


def test_the_page_that_makes_a_link_is_in_the_language_that_its_owner_chose(client, tested):
    chosen = {"language": "de", "temperature": "celsius", "dates": "words", "decimals": "language"}
    client.post("/preferences", data=chosen)
    page = soup(client.get(f"/batteries/{tested.id}/share", headers={"Accept-Language": "en"}))
    assert page.html["lang"] == "de"
    path = urlsplit(made_link(client, tested)).path
    shown = soup(client.get(path, headers={"Accept-Language": "en"}))
    assert shown.html["lang"] == "en"


def test_a_revoked_link_is_listed_as_revoked(client, tested, link):
    page = soup(client.post("/shares/1/revoke"))
    assert page.select("#address code") == []
    assert "it no longer opens anything" in page.text
    assert "revoked" in soup(client.get(f"/batteries/{tested.id}")).select_one(".links").text


def test_a_server_that_listens_wide_gives_links_that_others_can_open(app, client, tested, link):
    app.state.settings = replace(app.state.settings, host="192.168.1.7")
    page = soup(client.get("/shares/1"))
    assert page.select_one("#address code").text.startswith("http://192.168.1.7")
    assert "listens to this machine alone" not in page.text
    assert page.select_one("img[src='/shares/1/code.svg']")


def test_the_code_to_scan_holds_the_address(app, client, link):
    app.state.settings = replace(app.state.settings, host="192.168.1.7")
    drawn = client.get("/shares/1/code.svg")
    assert drawn.headers["content-type"] == "image/svg+xml"
    address = soup(client.get("/shares/1")).select_one("#address code").text
    expected = io.BytesIO()
    segno.make_qr(address, error="m").save(
        expected, kind="svg", border=4, scale=5, light="#ffffff", xmldecl=False
    )
    assert drawn.content == expected.getvalue()


def test_views_are_counted_with_the_last_date(client, link):
    assert "not yet" in soup(client.get("/shares/1")).text
    client.get(link)
    client.head(link)
    client.get(link)
    assert "2 times, last on 25 Nov 2026" in " ".join(soup(client.get("/shares/1")).text.split())


def test_a_page_is_shown_even_where_its_view_cannot_be_counted(client, store, link):
    with another_writing(store):
        shown = client.get(link)
    assert shown.status_code == 200
    assert "Bench battery" in shown.text


@pytest.mark.parametrize("part", list(SharePart))
def test_a_part_that_is_not_chosen_is_not_there(client, tested, part):
    client.post(f"/batteries/{tested.id}/events", data={"on_date": "2026-05-01", "kind": "repair"})
    signs = {
        SharePart.FADE: ("Fade across the years", '"fade":null'),
        SharePart.END_OF_LIFE: ("Below 80 % of rated", '"end_of_life":null'),
        SharePart.TESTS: ("Ended because", '"lists":false'),
        SharePart.EVENTS: ("Events", '"events":[]'),
    }
    chosen = {f"show_{one.value}": "on" for one in SharePart if one is not part}
    link = made_link(client, tested, chosen="yes", **chosen)
    page = soup(client.get(link)).text
    json_text = client.get(link.replace("/shared/", "/api/shared/"))
    for other, (heading, missing) in signs.items():
        assert (heading in page) is (other is not part), heading
        assert (missing in json_text.text) is (other is part), missing
    if part is SharePart.TESTS:
        assert "lamps" not in json_text.text, "how a test was done is not in the data either"


def test_a_link_that_shows_nothing_is_refused_and_keeps_the_choice(client, tested):
    response = client.post(
        f"/batteries/{tested.id}/shares", data={"chosen": "yes", "label": "Ro", "lasting": "7"}
    )
    assert response.status_code == 422
    page = soup(response)
    assert "at least one part" in refusals_of(page)
    assert page.find(id="label")["value"] == "Ro"
    assert page.select_one("#lasting option[selected]")["value"] == "7"


def test_the_preview_is_what_the_link_shows(client, tested):
    chosen = {"chosen": "yes", "show_fade": "on"}
    seen = soup(client.get(f"/batteries/{tested.id}/share", params=chosen)).select_one(".seen")
    shown = soup(client.get(made_link(client, tested, **chosen)))
    seen.select_one("#seen-title").decompose()
    shown.h1.decompose()
    assert seen.text.split() == shown.main.text.split()


def test_one_test_is_shared_with_how_it_was_done_and_nothing_of_the_others(client, tested):
    link = made_link(client, tested, test="2")
    page = soup(client.get(link))
    assert "Measured" in page.select_one(".headline").text
    assert "Charge before test" in page.text
    assert "Fade across the years" not in page.text
    assert page.title.text.startswith("Capacity test of Bench battery")
    assert (
        client.get(link.replace("/shared/", "/api/shared/")).json()["batteries"][0]["tests"] == []
    )


def test_several_batteries_stand_side_by_side(client, store, tested):
    other = batteries.add_battery(store, battery_details(name="Other battery"))
    link = made_link(client, tested, **{f"beside_{other.id}": "on"})
    page = soup(client.get(link))
    assert page.h1.text == "Bench battery beside Other battery"
    assert len(page.select_one("table tbody").select("tr")) == 2
    # What the first says of checking holds for all: nothing is headed where nothing is said.
    headings = page.select("[id^=check-title]")
    assert [one.get("class") for one in headings] == [None, ["unseen"]][: len(headings)]
    client.post(f"/bin/battery/{other.id}")
    assert soup(client.get(link)).h1.text == "Bench battery"


@pytest.mark.parametrize(
    ("form", "words"),
    [
        ({"test": "77"}, "There is no test 77"),
        ({"test": "x"}, "the number of a test or battery"),
        ({"beside_77": "on"}, "There is no battery 77"),
        ({"lasting": "12"}, "how long it stays open"),
        ({"label": "x" * 81}, "at most 80 characters"),
    ],
)
def test_odd_choices_are_refused_in_a_sentence(client, tested, form, words):
    response = client.post(f"/batteries/{tested.id}/shares", data=form)
    assert response.status_code == 422
    assert words in response.text


def test_a_test_in_the_bin_closes_its_link(client, tested):
    link = made_link(client, tested, test="2")
    client.post("/bin/discharge/2")
    closed = client.get(link)
    assert closed.status_code == 404
    assert "This link does not work." in closed.text
    assert "Bench battery" not in closed.text


def test_a_stranger_before_a_closed_link_is_not_led_to_the_owner(client):
    page = soup(client.get("/shared/wrong"))
    assert page.select("nav, form, input") == []
