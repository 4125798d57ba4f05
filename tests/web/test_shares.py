from dataclasses import replace
from datetime import timedelta

import pytest

from app.services import shares
from tests.builders import NOW
from tests.conftest import here
from tests.web.conftest import soup

PRIVATE = ("SECRETPLACE", "SECRETSERIAL", "SECRETNOTES", "SECRETTESTNOTES", "987654")


@pytest.fixture
def link(client, tested):
    client.post(f"/batteries/{tested.id}/shares", data={"label": "Ro", "lasting": "30"})
    page = soup(client.get(f"/batteries/{tested.id}"))
    return page.select_one("input.link")["value"]


def test_a_link_opens_in_a_browser_that_knows_nothing(app, link):
    with here(app) as stranger:
        page = soup(stranger.get(link))
    assert page.h1.text == "Bench battery"
    assert page.select_one("figure.chart")
    assert len(page.select("table tbody tr")) == 5


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
    inside = [a["href"] for a in page.select("a[href]") if a["href"] != "#main"]
    assert inside == []


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


def test_a_revoked_link_is_listed_as_revoked(client, tested, link):
    page = soup(client.post("/shares/1/revoke"))
    assert page.select("input.link") == []
    assert "revoked" in page.select_one(".links").text


def test_a_server_that_listens_wide_gives_links_that_others_can_open(app, client, tested, link):
    app.state.settings = replace(app.state.settings, host="192.168.1.7")
    page = soup(client.get(f"/batteries/{tested.id}"))
    assert page.select_one("input.link")["value"].startswith("http://192.168.1.7")
    assert "listens to this machine alone" not in page.text
