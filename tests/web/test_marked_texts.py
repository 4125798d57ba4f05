"""What templates mark for translation, with the values that stand in it."""

import pytest
from jinja2 import UndefinedError
from markupsafe import Markup

from app.domain.i18n.message import Reader, say, say_plural, written_number
from app.domain.i18n.preferences import Language, Preferences
from app.web.rendering.rendering import templates_for
from tests.german import Words

GERMAN = Reader(
    Preferences(language=Language.GERMAN),
    Words(
        {
            "For <b>%(name)s</b>: %(ah)s Ah, %(why)s": "<b>%(name)s</b> (%(why)s): %(ah)s Ah",
            "old": "alt",
            "95 %% of it": "95 %% davon",
            "1 test": "1 Test",
            "%(count)s tests": "%(count)s Prüfungen",
            "{count} days": "{count} Tage",
            "Close": "Schließen",
        }
    ),
)
SENTENCE = "{% trans ah=ah, why=why %}For <b>{{ name }}</b>: {{ ah }} Ah, {{ why }}{% endtrans %}"


def shown(source: str, reader: Reader = GERMAN, **values: object) -> str:
    # Not one that is kept: readers are told apart by their preferences alone.
    return templates_for.__wrapped__(reader).env.from_string(source).render(values)


def test_messages_and_numbers_in_a_text_are_read_by_the_reader():
    values = {"name": "Bench", "ah": written_number(98.4, ".1f"), "why": say("old")}
    assert shown(SENTENCE, **values) == "<b>Bench</b> (alt): 98,4 Ah"
    assert shown(SENTENCE, Reader(), **values) == "For <b>Bench</b>: 98.4 Ah, old"


def test_values_are_escaped_unless_they_are_markup_and_the_text_is_markup():
    values = {"name": "<i>&", "ah": Markup("<i>9</i>"), "why": "%(name)s"}
    assert shown(SENTENCE, **values) == "<b>&lt;i&gt;&amp;</b> (%(name)s): <i>9</i> Ah"


@pytest.mark.parametrize("source", [SENTENCE, "{% trans name=no.such %}{{ name }}{% endtrans %}"])
def test_a_value_that_is_missing_raises(source):
    with pytest.raises(UndefinedError):
        shown(source, ah=1, why="", no={})


def test_line_breaks_and_spaces_around_a_text_are_no_part_of_it():
    source = "({% trans %}\n   95 %\n  of it\n{% endtrans %})"
    assert shown(source) == "(95 % davon)"


@pytest.mark.parametrize(("count", "german"), [(1, "1 Test"), (0, "0 Prüfungen")])
def test_the_count_chooses_the_form(count, german):
    source = "{% trans count=n %}1 test{% pluralize %}{{ count }} tests{% endtrans %}"
    assert shown(source, n=count) == german


def test_a_message_with_two_forms_is_read_in_a_text():
    source = "{% trans age=age %}{{ age }}{% endtrans %}"
    age = say_plural("1 day", "{count} days", 3)
    assert shown(source, age=age) == "3 Tage"
    assert shown(source, Reader(), age=age) == "3 days"


def test_an_attribute_is_marked_by_an_underscore():
    assert shown('<a title="{{ _("Close") }}">') == '<a title="Schließen">'


def test_what_a_macro_says_is_read_by_the_same_reader():
    source = '{% macro m() %}{{ _("Close") }} {{ why }}{% endmacro %}{{ m() }}'
    assert shown(source, why=say("old")) == "Schließen alt"
