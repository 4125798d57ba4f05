"""Every word of the trade is explained where it appears, without script, and in one list."""

import re

import pytest
from bs4 import BeautifulSoup

from app.domain.glossary import BY_KEY, WORDS
from app.web.rendering.rendering import environment
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database

ASKED_FOR = {
    "capacity_test",
    "rated_capacity",
    "at_least",
    "interval_95",
    "cut_off_voltage",
    "reserve",
    "state_of_charge",
    "hour_rate",
    "peukert",
    "fade",
    "end_of_life",
    "threshold",
    "equivalent_age",
    "throughput",
    "depth_of_discharge",
    "uncertainty_budget",
    "degrees_of_freedom",
}


def explained(page: BeautifulSoup) -> set[str]:
    """The words that a page explains on the spot: a button and the sentence that it opens."""
    found = set()
    for button in page.select("button.word[type=button]"):
        told = page.select(f"#{button['popovertarget']}")
        assert len(told) == 1, button
        assert told[0].has_attr("popover")
        key = button["popovertarget"].removeprefix("word-")
        assert BY_KEY[key].meaning in told[0].text
        found.add(key)
    return found


def test_each_word_is_one_sentence_under_one_name():
    assert set(BY_KEY) >= ASKED_FOR
    assert len(BY_KEY) == len(WORDS)
    for word in WORDS:
        assert re.fullmatch(r"[A-Z][^.!?]*(\d\.\d[^.!?]*)*\.", word.meaning), word.key


def test_the_page_lists_every_word_with_its_source_and_the_way_on(client):
    page = soup(client.get("/words"))
    for word in WORDS:
        entry = page.select_one(f"#{word.key}")
        assert word.meaning in entry.text
        assert word.source[1:] in entry.text


def test_each_word_leads_to_a_part_of_the_method_that_is_there(client):
    method = soup(client.get("/method"))
    for word in WORDS:
        if word.method:
            assert method.find(id=word.method), word.key


@pytest.mark.parametrize(
    ("path", "keys"),
    [
        ("/", {"capacity_test", "rated_capacity", "fade"}),
        ("/good-test", {"capacity_test", "cut_off_voltage", "at_least", "rated_capacity"}),
    ],
)
def test_pages_without_records_explain_their_words(client, path, keys):
    assert explained(soup(client.get(path))) >= keys


@pytest.mark.parametrize(
    ("path", "keys"),
    [
        ("/batteries/1", {"rated_capacity", "at_least", "interval_95", "fade"}),
        ("/batteries/1", {"end_of_life", "threshold", "reserve", "cut_off_voltage"}),
        ("/discharges/5", {"interval_95", "uncertainty_budget", "degrees_of_freedom", "peukert"}),
        ("/batteries/1/discharges/new", {"capacity_test", "cut_off_voltage"}),
        ("/batteries/1/plan?current_a=9", {"rated_capacity", "hour_rate", "cut_off_voltage"}),
        ("/batteries/1/heat", {"equivalent_age", "throughput", "state_of_charge"}),
        ("/comparison", {"fade", "equivalent_age"}),
        ("/batteries/new", {"rated_capacity", "hour_rate", "reserve", "state_of_charge"}),
        ("/batteries/1/edit", {"cut_off_voltage", "end_of_life", "threshold", "throughput"}),
        ("/meters", {"gain_error", "zero_point", "fade"}),
        ("/batteries/1/warranty", {"depth_of_discharge", "throughput"}),
    ],
)
def test_a_page_explains_the_words_it_uses(client, store, tested, path, keys):
    assert explained(soup(client.get(path))) >= keys


def test_every_word_is_explained_on_some_page():
    env = environment
    used = "".join(env.loader.get_source(env, name)[0] for name in env.list_templates())
    for key in BY_KEY:
        assert f'"{key}"' in used, key


def test_nothing_that_one_must_know_stands_inside_a_field_and_goes_when_one_types():
    env = environment
    for name in env.list_templates():
        assert "placeholder=" not in env.loader.get_source(env, name)[0], name


def test_what_somebody_else_sees_needs_no_button(client, store, tested):
    answer = client.post("/batteries/1/shares")
    link = soup(answer).select_one("#address")["value"]
    assert not soup(client.get(link)).select("button.word")


def test_the_method_begins_with_its_contents_in_their_order(client):
    page = soup(client.get("/method"))
    listed = [(one["href"], one.text) for one in page.select(".contents a")]
    parts = page.select("main > h2[id]")
    assert listed == [(f"#{part['id']}", part.text) for part in parts]
    assert listed[-1][1] == "What Fadeline will not do"
