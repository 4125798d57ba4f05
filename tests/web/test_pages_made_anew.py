"""What is kept between two visits: never what a page says, always what it is computed from."""

import sqlite3
from contextlib import closing
from datetime import timedelta

import pytest

from app.charts import chart
from app.services.access import shares
from app.services.entities import batteries
from app.storage.database.engine import data_file
from tests.builders import NOW, battery_details
from tests.conftest import here
from tests.postgres import another_writing
from tests.web.auth_client import away, sign_in, soup, token_on

pytestmark = pytest.mark.data_file


@pytest.fixture
def made(monkeypatch):
    """How often the report of a battery was computed."""
    count = []
    make = batteries.battery_report

    def counted(*given):
        count.append(given)
        return make(*given)

    monkeypatch.setattr(batteries, "battery_report", counted)
    return count


def page_of(client, battery, **more):
    answer = client.get(f"/batteries/{battery.id}", **more)
    assert answer.status_code == 200
    return answer


def views_of(store):
    return shares.get_share(store, 1).views


def test_a_page_is_the_same_again_and_computed_once(client, tested, made):
    first, second = page_of(client, tested), page_of(client, tested)
    assert (first.content, first.headers) == (second.content, second.headers)
    assert first.headers["cache-control"] == "no-store"
    assert len(made) == 1


def test_its_other_pages_share_what_was_computed(client, tested, made):
    for part in ("", "/curves", "/heat", "/road", "/warranty"):
        assert client.get(f"/batteries/{tested.id}{part}").status_code == 200
    assert len(made) == 1


def test_whatever_is_stored_makes_it_new(client, store, tested, made):
    page_of(client, tested)
    form = {"on_date": "2026-05-01", "kind": "moved", "note": "to the coast"}
    client.post(f"/batteries/{tested.id}/events", data=form)
    assert "to the coast" in page_of(client, tested).text
    batteries.change_battery(store, tested.id, battery_details(name="Other name"), NOW)
    assert "Other name" in page_of(client, tested).text


def test_what_another_process_stores_makes_it_new(client, store, tested):
    page_of(client, tested)
    with closing(sqlite3.connect(data_file(store.engine))) as other, other:
        other.execute("UPDATE battery SET name = 'From elsewhere'")
    assert "From elsewhere" in page_of(client, tested).text


def test_the_next_day_makes_it_new(app, client, tested, made):
    for hours in (0, 1, 24):
        app.state.clock = lambda hours=hours: NOW + timedelta(hours=hours)
        page_of(client, tested)
    assert len(made) == 2


def test_each_reader_gets_a_page_of_his_own(client, tested):
    german = {"Accept-Language": "de"}
    assert 'lang="en"' in page_of(client, tested).text
    assert 'lang="de"' in page_of(client, tested, headers=german).text
    assert 'lang="en"' in page_of(client, tested).text
    before = page_of(client, tested).text
    client.post("/look", data={"look": "dark", "back": "/"})
    assert page_of(client, tested).text != before


def test_a_stranger_does_not_get_what_was_kept_for_the_owner(app, client, tested):
    page_of(client, tested)
    with away(app) as stranger:
        answer = stranger.get(f"/batteries/{tested.id}")
    assert answer.status_code == 403
    assert "Only shared links open from another device." in answer.text
    assert "Bench battery" not in answer.text


def test_a_session_does_not_get_the_word_of_another(guarded, tested):
    words = []
    for _ in range(2):
        with away(guarded) as client:
            sign_in(client)
            words.append(token_on(client, f"/batteries/{tested.id}"))
    assert len(set(words)) == 2


@pytest.fixture
def link(store, tested):
    return shares.share_battery(store, tested.id, "", NOW + timedelta(seconds=30), NOW)


def test_a_link_ends_at_its_very_moment(app, client, link):
    address = f"/shared/{link.token}"
    for seconds, status in ((0, 200), (5, 200), (29, 200), (30, 404)):
        app.state.clock = lambda seconds=seconds: NOW + timedelta(seconds=seconds)
        answer = client.get(address)
        assert answer.status_code == status
        assert ("This link does not work." in answer.text) is (status == 404)
        assert ("Bench battery" in answer.text) is (status == 200)


def test_a_crowd_at_a_link_has_its_picture_drawn_once_and_it_ends_with_the_link(
    app, client, store, link, monkeypatch
):
    drawn = []
    draw = chart.figure_svg
    monkeypatch.setattr(
        chart, "figure_svg", lambda *given, **more: (drawn.append(1), draw(*given, **more))[1]
    )
    answers = []
    for milliseconds in (0, 1_000, 29_999, 30_000):
        app.state.clock = lambda ms=milliseconds: NOW + timedelta(milliseconds=ms)
        answers.append(client.get(f"/shared/{link.token}"))
    assert [one.status_code for one in answers] == [200, 200, 200, 404]
    assert len(drawn) == 1


def test_a_figure_is_no_look_at_its_link(client, store, link):
    address = f"/shared/{link.token}?chart=fade-1.json"
    first, second = client.get(address), client.get(address)
    assert first.json() == second.json()
    assert views_of(store) == 0


def test_a_revoked_link_is_closed_at_once(client, link):
    address = f"/shared/{link.token}"
    assert [client.get(address).status_code for _ in range(3)] == [200, 200, 200]
    client.post(f"/shares/{link.id}/revoke")
    closed = client.get(address)
    assert closed.status_code == 404
    assert "This link does not work." in closed.text
    assert "Bench battery" not in closed.text


def test_every_look_at_a_link_is_counted_and_told(app, client, store, tested, link):
    page_of(client, tested)
    with here(app) as visitor:
        for seen in range(1, 8):
            assert visitor.get(f"/shared/{link.token}").status_code == 200
            if seen % 3 == 0:
                assert f"opened {seen} times" in soup(page_of(client, tested)).text
    assert views_of(store) == 7


def test_looks_that_cannot_be_stored_wait(client, store, link):
    client.get(f"/shared/{link.token}")
    with another_writing(store):
        client.get(f"/shared/{link.token}")
        shares.store_views(store)
        assert store.views.waiting == 1
    assert views_of(store) == 2


def test_a_crowd_at_a_link_stores_once_in_ten_seconds(app, client, store, link, monkeypatch):
    stored = []
    store_views = shares.store_views
    monkeypatch.setattr(shares, "store_views", lambda store: stored.append(store_views(store)))
    for seconds in range(21):
        app.state.clock = lambda seconds=seconds: NOW + timedelta(seconds=seconds)
        client.get(f"/shared/{link.token}")
    assert len(stored) == 3


def test_the_list_tells_whether_the_example_is_open(client):
    assert "/example/leave" not in client.get("/").text
    before = client.get("/").text
    client.post("/example")
    assert client.get("/").text != before
    client.post("/example/leave")
    assert client.get("/").text == before
