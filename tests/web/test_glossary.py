"""Every word of the trade is explained where it appears, without script, and in one list."""

import re

import pytest
from bs4 import BeautifulSoup

from app.domain.glossary import BY_KEY, WORDS
from app.domain.i18n.message import ENGLISH, Reader, say
from app.domain.i18n.preferences import Language, Preferences
from app.languages.readers import reader_with
from app.web.rendering.dotted_terms import DottedTerms
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
        ("/", {"capacity_test", "fade"}),
        ("/good-test", {"capacity_test", "cut_off_voltage", "at_least", "rated_capacity"}),
    ],
)
def test_pages_without_records_explain_their_words(client, path, keys):
    assert explained(soup(client.get(path))) >= keys


@pytest.mark.parametrize(
    ("path", "keys"),
    [
        ("/batteries/1", {"rated_capacity", "reserve", "cut_off_voltage"}),
        ("/discharges/5", {"interval_95", "degrees_of_freedom"}),
        ("/batteries/1/plan?current_a=9", {"rated_capacity", "hour_rate", "cut_off_voltage"}),
        ("/batteries/1/heat", {"interval_95"}),
        ("/meters", {"gain_error", "fade"}),
        ("/batteries/1/warranty", {"rated_capacity"}),
    ],
)
def test_a_page_explains_the_words_it_uses(client, store, tested, path, keys):
    assert explained(soup(client.get(path))) >= keys


@pytest.mark.parametrize("language", [Language.ENGLISH, Language.GERMAN])
@pytest.mark.parametrize("term", WORDS, ids=lambda one: one.key)
def test_every_form_of_a_word_is_dotted_where_it_stands_in_a_sentence(term, language):
    reader = reader_with(Preferences(language=language))
    for form in reader.read(say(term.said)).split("|"):
        text = f"<p>So {form} is meant, and {form} again.</p>"
        assert dotted(text, reader) == (
            f"<p>So <b>{term.key}:{form}</b> is meant, and {form} again.</p><i>{term.key}</i>"
        )


def dotted(text: str, reader: Reader = ENGLISH, *, for_owner: bool = True) -> str:
    return DottedTerms(reader)(
        text, lambda key, shown: f"<b>{key}:{shown}</b>", lambda key: f"<i>{key}</i>", for_owner
    )


@pytest.mark.parametrize(
    "text",
    [
        "The fade stands outside of every sentence.",
        "<h2>The fade</h2>",
        "<p><a href='/'>The fade</a></p>",
        '<p class="headline big">The fade</p>',
        "<table><tr><td><p>The fade</p></td></tr></table>",
        '<div role="alert"><ul><li>The fade</li></ul></div>',
        '<dl data-undotted><div><dt>fade</dt></div><div id="fade"><dd>The fade</dd></div></dl>',
        "<label>The fade <input name=fade></label>",
        "<svg><title>The fade</title></svg>",
        '<p title="The fade > the rest"><!-- the fade --></p>',
        "<p>It fades, unfaded, fade-out.</p>",
        '<p><button class="word">fade</button><span id="word-fade" popover>The fade</span></p>',
    ],
)
def test_what_is_no_sentence_or_is_explained_already_stays_as_it_is(text):
    assert dotted(text) == text


def test_a_stop_stays_on_the_line_of_its_term():
    assert dotted("<p>What is the fade?</p>") == (
        '<p>What is the <span class="unbroken"><b>fade:fade</b>?</span></p><i>fade</i>'
    )


def test_a_sentence_goes_on_behind_what_is_passed_over_in_it():
    text = '<div><p><a href="/">One</a><br>fade</p></div><p><em>reserve</em></p>'
    assert dotted(text) == (
        '<div><p><a href="/">One</a><br><b>fade:fade</b></p></div>'
        "<p><em><b>reserve:reserve</b></em></p><i>fade</i><i>reserve</i>"
    )


def test_what_an_element_left_open_holds_ends_with_the_one_around_it():
    assert dotted("<div><p>One</div>fade<p>fade</p>") == (
        "<div><p>One</div>fade<p><b>fade:fade</b></p><i>fade</i>"
    )


def test_pages_for_others_stay_as_they_are():
    assert dotted("<p>The fade.</p>", for_owner=False) == "<p>The fade.</p>"


def test_nothing_that_one_must_know_stands_inside_a_field_and_goes_when_one_types():
    env = environment
    for name in env.list_templates():
        assert "placeholder=" not in env.loader.get_source(env, name)[0], name


def test_what_somebody_else_sees_needs_no_button(client, store, tested):
    answer = client.post("/batteries/1/shares")
    link = soup(answer).select_one("#address code").text
    assert not soup(client.get(link)).select("button.word")


def test_the_method_begins_with_its_contents_in_their_order(client):
    page = soup(client.get("/method"))
    listed = [(one["href"], one.text) for one in page.select(".contents a")]
    parts = page.select("main > h2[id]")
    assert listed == [(f"#{part['id']}", part.text) for part in parts]
    assert listed[-1][1] == "What Fadeline will not do"
