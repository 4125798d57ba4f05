"""Texts of a template are found as they stand, and put into another language without a mark."""

import pytest
from jinja2 import DictLoader, Environment

from app.languages.template_text import in_other_words, texts_of
from app.settings import TEMPLATES

PAGES = sorted(TEMPLATES.rglob("*.html"))


def in_german(source: str, **words: str) -> str:
    """The template with the texts that `words` knows by their English; the rest stays."""
    return in_other_words(source, lambda text: words.get(text, text))


def shown(source: str, **values: object) -> str:
    return Environment(loader=DictLoader({"page": source})).get_template("page").render(values)


def test_plain_text_between_two_elements_is_a_text():
    assert texts_of("<h1>Batteries</h1><p>None yet.</p>") == ["Batteries", "None yet."]


def test_a_statement_parts_two_texts():
    source = "<p>In service{% if old %}, for years{% endif %}</p>"
    assert texts_of(source) == ["In service", ", for years"]


def test_nested_statements_part_texts_at_each_of_them():
    source = (
        "{% for a in b %}{% if a %}One{% else %}{% if c %}Two{% endif %}{% endif %}{% endfor %}"
    )
    assert texts_of(source) == ["One", "Two"]


def test_an_expression_is_a_place_with_the_name_of_its_value():
    assert texts_of("<p>For {{ battery.name }}: {{ ah | number(1) }} Ah</p>") == [
        "For {name}: {ah} Ah"
    ]


def test_two_places_of_one_name_are_told_apart():
    assert texts_of("<p>{{ a.day }} to {{ b.day }}</p>") == ["{day} to {day2}"]


@pytest.mark.parametrize(
    ("expression", "name"),
    [
        ('word("reserve")', "reserve"),
        ('"%.0f" | format(hours)', "hours"),
        ("(now - state.good_at) | age", "good_at"),
        ('at.astimezone(run.zone).strftime("%H:%M")', "at"),
        ('load or say("not noted")', "load"),
        ('say("now") if one.further == 0 else say("after {n}", n=one.further)', "further"),
        ('button(url_for("stay", id=stay.id), say("take back"))', "button"),
        ('"–"', "value"),
    ],
)
def test_a_place_is_called_after_what_a_translator_can_make_sense_of(expression, name):
    assert texts_of(f"<p>Told: {{{{ {expression} }}}}</p>") == [f"Told: {{{name}}}"]


def test_inline_elements_stay_within_their_text():
    source = '<p>Only <b class="loud">measured</b> counts, <a href="/m">see how</a>.</p>'
    assert texts_of(source) == ["Only <b>measured</b> counts, <a>see how</a>."]


def test_an_inline_element_around_a_whole_text_is_not_in_it():
    assert texts_of('<p><a href="/m"> <b>Meters</b> </a></p>') == ["Meters"]


def test_an_inline_element_that_a_statement_cuts_is_no_part_of_a_text():
    source = "<p><b>Due{% if day %} since {{ day }}{% endif %}</b> at once</p>"
    assert texts_of(source) == ["Due", "since {day}", "at once"]


def test_the_parts_of_a_text_may_change_their_order():
    source = '<p>See <a href="/m">the method</a> of {{ name }}.</p>'
    words = {"See <a>the method</a> of {name}.": "{name}: <a>die Methode</a> ansehen."}
    expected = '<p>{{ name }}: <a href="/m">die Methode</a> ansehen.</p>'
    assert in_german(source, **words) == expected


def test_attributes_that_people_hear_or_see_are_texts():
    source = '<a href="/x" aria-label="Main" data-head="Current" class="quiet" title="More"></a>'
    assert texts_of(source) == ["Main", "Current", "More"]


def test_an_attribute_with_an_expression_is_put_into_the_language_around_it():
    source = '<img src="{{ url }}" alt="Photo of {{ name }}">'
    made = in_german(source, **{"Photo of {name}": "Foto: {name}"})
    assert made == '<img src="{{ url }}" alt="Foto: {{ name }}">'


def test_attributes_of_an_inline_element_within_a_text_are_texts_of_their_own():
    source = '<p>See <a title="More" href="/m">how</a> it is</p>'
    assert sorted(texts_of(source)) == ["More", "See <a>how</a> it is"]
    assert 'title="Mehr"' in in_german(source, More="Mehr")


def test_a_place_that_a_script_fills_stays_as_it_is():
    source = '<table data-say-kept="{count} rows kept">'
    made = in_german(source, **{"{count} rows kept": "{count} Zeilen aufgehoben"})
    assert made == '<table data-say-kept="{count} Zeilen aufgehoben">'


def test_data_that_is_not_said_is_no_text():
    assert texts_of('<table data-rows data-kind="measured">') == []


def test_what_a_macro_is_called_with_is_no_text_but_what_it_holds_is():
    source = '{% macro field(name) %}<b>Label {{ name }}</b>{% endmacro %}{{ field("amps") }}'
    assert texts_of(source) == ["Label {name}"]


def test_a_macro_that_writes_attributes_holds_no_text():
    assert texts_of('{% macro marks(a) %} aria-describedby="hint-{{ a }}"{% endmacro %}') == []


def test_comments_statements_and_signs_of_units_are_no_texts():
    source = "{# A note. #}<td>{{ x }} Ah</td><td>± {{ y }} °C</td>{% set a = 'word' %}–"
    assert texts_of(source) == []


def test_the_space_around_a_text_is_kept():
    source = "<p>\n  Newest {% if x %} of all {% endif %}\n</p>"
    assert in_german(source, Newest="Neuester", **{"of all": "von allen"}) == (
        "<p>\n  Neuester {% if x %} von allen {% endif %}\n</p>"
    )


def test_lines_of_a_text_are_one_text():
    assert texts_of("<p>One line\n   and another.</p>") == ["One line and another."]


def test_a_comparison_is_no_element():
    source = "<p>{{ a if a < b else b }} is less < more</p>"
    assert texts_of(source) == ["{b} is less < more"]


def test_a_place_that_the_text_does_not_have_is_refused():
    with pytest.raises(ValueError, match=r"\{nam\} stands in “von \{nam\}”"):
        in_german("<p>of {{ name }}</p>", **{"of {name}": "von {nam}"})


def test_a_tag_that_the_text_does_not_have_is_refused():
    with pytest.raises(ValueError, match="<a2>"):
        in_german("<p>see <a>it</a> now</p>", **{"see <a>it</a> now": "<a2>sieh</a2>"})


def test_a_translated_template_still_works():
    source = "<p>{% for one in many %}<b>{{ one }}</b> left{% endfor %}</p>"
    made = in_german(source, **{"<b>{one}</b> left": "noch <b>{one}</b>"})
    assert shown(made, many=[1, 2]) == "<p>noch <b>1</b>noch <b>2</b></p>"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_said_in_its_own_words_a_template_stays_the_same_but_for_lines(page):
    source = page.read_text()
    said = in_other_words(source, lambda text: text)
    assert said.split() == source.split()
    assert texts_of(said) == texts_of(source)
