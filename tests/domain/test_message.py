"""Sentences after their reader: a made-up catalogue stands for any language."""

import copy
import pickle
from dataclasses import replace
from datetime import date

import pytest

from app.domain.entities.meter import MeterKind, typical
from app.domain.errors import FieldError
from app.domain.finding import EvidenceKind
from app.domain.glossary import WORDS
from app.domain.i18n.message import (
    CelsiusAround,
    CelsiusRange,
    Message,
    Reader,
    joined,
    long_day,
    say,
    say_plural,
    transformed,
    written_number,
)
from app.domain.i18n.preferences import DecimalShown, Language, Preferences, TemperatureShown
from app.domain.quantity import COLD_WEEK, NIGHTS, WARRANTY_YEARS
from tests.german import Words

GERMAN = Preferences(language=Language.GERMAN)
CATALOGUE = {
    "August": "Erntemonat",
    "Aug": "Ernte",
    "{day} {month} {year}": "{day}. {month} {year}",
    "in {only:%B %Y}": "im {only:%B %Y}",
    "measured": "gemessen",
    "nights without charging": "Nächte ohne Laden",
    "years": "Jahre",
    "a number above {low:g} and up to {high:g} {unit}": "über {low:g} bis {high:g} {unit}",
    "shunt with display": "Messwiderstand",
    "Please fill in “{where}”: {allowed}.": "{where} fehlt: {allowed}.",
}


read = Reader(GERMAN, Words(CATALOGUE)).read


def test_a_pattern_of_a_date_has_its_months_in_the_reader_s_language():
    text, day = "in {only:%B %Y}", date(2022, 8, 7)
    assert say(text, only=day) == "in August 2022"
    assert read(say(text, only=day)) == "im Erntemonat 2022"
    assert read(say("{day:%d %b}", day=day)) == "07 Ernte"
    assert read(long_day(day)) == "7. Erntemonat 2022"


def test_a_large_number_of_few_digits_is_written_without_a_power_of_ten():
    assert written_number(234.0, ".2g") == "230"
    assert say("± {doubt_ah:.2g} Ah", doubt_ah=1234.0) == "± 1200 Ah"


def test_no_comma_stands_between_thousands_where_it_is_the_decimal_sign():
    said = say("{hours:,.1f} h", hours=-8766.5)
    assert Reader(Preferences(decimals=DecimalShown.COMMA)).read(said) == "−8\u202f766,5 h"
    assert said == "−8,766.5 h"


def test_a_label_follows_the_reader_and_its_value_does_not():
    assert EvidenceKind.MEASURED.label == "measured"
    assert (read(EvidenceKind.MEASURED.label), EvidenceKind.MEASURED.value) == (
        "gemessen",
        "measured",
    )


def test_an_allowed_range_is_said_with_its_unit_and_without_one():
    assert NIGHTS.allowed == "a number above 0 and up to 365"
    assert read(NIGHTS.label) == "Nächte ohne Laden"
    assert read(WARRANTY_YEARS.allowed) == "über 0 bis 50 Jahre"
    assert read(FieldError(NIGHTS.label, "", "eine Zahl").sentence) == (
        "Nächte ohne Laden fehlt: eine Zahl."
    )


def test_a_unit_is_read_in_the_words_that_a_page_shows():
    assert WARRANTY_YEARS.parse("5 Jahre") == 5


def test_a_typical_meter_is_the_same_in_every_language_and_called_as_its_reader_does():
    english = typical(MeterKind.SHUNT)
    assert read(english.shown_name) == "Messwiderstand"
    assert english.shown_name == english.name == "Shunt with display"


def test_a_meter_that_has_a_name_keeps_it():
    named = replace(typical(MeterKind.SHUNT), name="Brass one")
    assert read(named.shown_name) == "Brass one"


def test_words_are_kept_in_english_to_be_said_where_they_are_shown():
    measured = next(word for word in WORDS if word.key == "measured")
    assert (measured.name, read(say(measured.name))) == ("measured", "gemessen")


def test_a_range_of_temperatures_stands_in_the_reader_s_unit():
    fahrenheit = Preferences(temperature=TemperatureShown.FAHRENHEIT)
    span, about = CelsiusRange(-5, 60), CelsiusAround(25, 5)
    assert say("{range:g}", range=span) == "−5 to 60 °C"
    assert say("{needed:g}", needed=about) == "25 ± 5 °C"
    read = Reader(fahrenheit).read
    assert read(say("{range:g}", range=span)) == "23 to 140 °F (−5 to 60 °C)"
    assert read(say("{needed:g}", needed=about)) == "77 ± 9 °F (25 ± 5 °C)"


def test_what_a_field_of_temperature_allows_is_said_in_both_units_where_one_asked_for_it():
    assert COLD_WEEK.allowed == "a number from −40 to 40 °C"
    read = Reader(Preferences(temperature=TemperatureShown.FAHRENHEIT)).read
    assert read(COLD_WEEK.allowed) == "a number from −40 to 40 °C (so −40 to 104 °F)"
    assert read(NIGHTS.allowed) == "a number above 0 and up to 365"


def test_messages_that_are_put_together_and_altered_are_read_in_every_part():
    said = joined("; ", (say("measured"), "Brass one"))
    assert (said, read(said)) == ("measured; Brass one", "gemessen; Brass one")
    assert read(transformed(said, str.upper)) == "GEMESSEN; BRASS ONE"
    assert read("so " + say("measured") + ".") == "so gemessen."


def test_a_message_inside_another_is_read_with_it():
    said = say("{what} in {year}", what=say("measured"), year=say("August"))
    assert (said, read(said)) == ("measured in August", "gemessen in Erntemonat")


@pytest.mark.parametrize(
    "copy", [copy.copy, copy.deepcopy, lambda m: pickle.loads(pickle.dumps(m))]
)
def test_a_copy_is_still_a_message(copy):
    said = say("in {only:%B %Y}", only=date(2022, 8, 7))
    copied = copy(said)
    assert isinstance(copied, Message)
    assert (copied, read(copied)) == (said, "im Erntemonat 2022")


def test_a_form_for_one_and_a_form_for_many_are_chosen_by_the_count():
    read = Reader(GERMAN, Words({"1 day": "1 Tag", "{count:,} days": "{count:,} Tage"})).read
    said = [say_plural("1 day", "{count:,} days", count) for count in (0, 1, 2, 0.5)]
    assert said == ["0 days", "1 day", "2 days", "0.5 days"]
    assert [read(one) for one in said] == ["0 Tage", "1 Tag", "2 Tage", "0,5 Tage"]


def test_a_message_with_two_forms_outlives_a_copy_and_stays_in_what_is_joined():
    read = Reader(GERMAN, Words({"1 day": "1 Tag"})).read
    said = pickle.loads(pickle.dumps(say_plural("1 day", "{count} days", 1)))
    assert read(copy.copy(said)) == "1 Tag"
    assert read(joined(", ", (said, "late"))) == "1 Tag, late"
