"""Answers to forms wait under an address of their own, for whoever asked and for nobody else."""

import re

import pytest

from app.server.application import create_app
from app.services.exchange import kept_pages
from app.services.exchange.kept_pages import KeptPage, find_page, keep_page
from app.web.security import posted_pages
from tests.conftest import here
from tests.web.auth_client import away, set_up, sign_in
from tests.web.conftest import soup
from tests.web.typed import post_test

READS_PAGES = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}


@pytest.fixture
def reader(client, battery):
    """A browser: it says that it reads pages."""
    client.headers.update(READS_PAGES)
    client.follow_redirects = False
    return client


def address_of(answer):
    assert answer.status_code == 303
    assert re.match(r"/sent/[\w-]{24}\?of=", answer.headers["location"])
    return answer.headers["location"]


def test_a_preview_has_an_address_and_is_there_as_often_as_asked(reader, battery):
    address = address_of(post_test(reader, battery, "check"))
    first, second = reader.get(address), reader.get(address)
    assert first.status_code == second.status_code == 200
    assert first.text == second.text
    assert "What this test would prove" in first.text
    assert first.headers["cache-control"] == "no-store"
    assert "Content-Security-Policy" in first.headers


def test_a_refusal_has_one_too_and_is_still_a_refusal(reader, battery):
    address = address_of(post_test(reader, battery, day="tomorrow"))
    refused = reader.get(address)
    assert refused.status_code == 422
    assert soup(refused).find(id="day")["value"] == "tomorrow"


def test_two_windows_have_two_previews(reader, battery):
    one = address_of(post_test(reader, battery, "check", load="lamps"))
    other = address_of(post_test(reader, battery, "check", load="heater"))
    assert soup(reader.get(one)).find(id="load")["value"] == "lamps"
    assert soup(reader.get(other)).find(id="load")["value"] == "heater"


def test_a_stored_test_is_where_it_was_sent_on_to_before(reader, battery):
    assert post_test(reader, battery).headers["location"].startswith("/discharges/1")


def test_storing_an_old_preview_once_more_is_asked_about(reader, battery):
    post_test(reader, battery)
    again = reader.get(address_of(post_test(reader, battery)))
    assert again.status_code == 422


def test_a_program_gets_the_page_at_once(client, battery):
    assert post_test(client, battery, "check").status_code == 200
    assert post_test(client, battery, day="tomorrow").status_code == 422


def test_an_address_that_is_over_leads_to_the_form(reader, battery, monkeypatch):
    monkeypatch.setattr(kept_pages, "KEEP_S", -1)
    gone = reader.get(address_of(post_test(reader, battery, "check")))
    assert gone.status_code == 303
    assert gone.headers["location"] == f"/batteries/{battery.id}/discharges"
    form = reader.get(gone.headers["location"])
    assert form.headers["location"] == f"/batteries/{battery.id}/discharges/new"


@pytest.mark.parametrize("elsewhere", ["//evil.example/", "https://evil.example/", "/%5Cevil"])
def test_no_address_leads_to_another_server(reader, elsewhere):
    gone = reader.get(f"/sent/{'x' * 24}?of={elsewhere}")
    assert gone.headers["location"] == "/"


def test_nobody_else_sees_it(app, reader, battery, quick):
    at_home = address_of(post_test(reader, battery, "check", load="my own lamps"))
    set_up(app)
    for signs_in in (False, True):
        with away(app, follow_redirects=False) as other:
            if signs_in:
                sign_in(other)
            answer = other.get(at_home, headers=READS_PAGES)
            assert answer.status_code == 303
            assert "my own lamps" not in answer.text


def test_the_word_of_a_feed_is_not_kept(reader, run):
    answer = reader.post(f"{run}/feed")
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "no-store"


def test_another_process_on_the_same_folder_finds_it(app, reader, battery):
    address = address_of(post_test(reader, battery, "check"))
    other = create_app(app.state.settings)
    with here(other) as client:
        assert "What this test would prove" in client.get(address).text
    other.state.example.close()
    other.state.store.engine.dispose()


def test_the_oldest_go_where_there_are_too_many_or_too_large(store, monkeypatch):
    page = KeptPage("me", 200, (), b"a page")
    monkeypatch.setattr(kept_pages, "MAX_PAGES", 3)
    names = [keep_page(store, page) for _ in range(4)]
    assert [find_page(store, name, "me") is not None for name in names] == [False, True, True, True]
    monkeypatch.setattr(kept_pages, "MAX_BYTES", 10)
    last = keep_page(store, page)
    assert find_page(store, last, "me") == page
    assert not find_page(store, names[3], "me")
    assert not find_page(store, last, "you")
    assert len(list(store.staging.iterdir())) == 1


def test_where_nothing_can_be_kept_the_page_is_sent_at_once(reader, battery, store, monkeypatch):
    """As it was without this: nothing typed is lost with a full disk."""
    monkeypatch.setattr(posted_pages, "keep_page", lambda *_: "")
    assert post_test(reader, battery, "check").status_code == 200


def test_a_page_that_is_too_large_is_sent_at_once(reader, battery, monkeypatch):
    monkeypatch.setattr(posted_pages, "MAX_BYTES_A_PAGE", 100)
    answer = post_test(reader, battery, "check")
    assert answer.status_code == 200
    assert "What this test would prove" in answer.text


def test_in_the_example_it_stays_in_the_example(reader):
    reader.post("/example")
    form = {"rows": "12", "action": "more_rows"}
    answer = reader.post("/example/batteries/1/discharges", data=form)
    assert answer.headers["location"].startswith("/example/sent/")
    assert reader.get(answer.headers["location"]).status_code == 200
