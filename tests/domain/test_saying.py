"""Sentences after their reader: a made-up catalogue stands for any language."""

from dataclasses import replace
from datetime import date

import pytest

from app.domain import saying
from app.domain.errors import Problem
from app.domain.finding import Kind
from app.domain.meter import MeterKind, typical
from app.domain.preferences import DecimalShown, Language, Preferences, TemperatureShown
from app.domain.quantity import COLD_WEEK, NIGHTS, WARRANTY_YEARS
from app.domain.saying import CelsiusAround, CelsiusRange, long_day, say, shown_as
from app.domain.words import WORDS

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
    "{where}: got nothing, expected {allowed}.": "{where}: nichts, erwartet {allowed}.",
}


@pytest.fixture(autouse=True)
def catalogue(monkeypatch):
    monkeypatch.setitem(saying._catalogues, Language.GERMAN, lambda: CATALOGUE)


def test_a_pattern_of_a_date_has_its_months_in_the_reader_s_language():
    text, day = "in {only:%B %Y}", date(2022, 8, 7)
    assert say(text, only=day) == "in August 2022"
    with shown_as(GERMAN):
        assert say(text, only=day) == "im Erntemonat 2022"
        assert say("{day:%d %b}", day=day) == "07 Ernte"
        assert long_day(day) == "7. Erntemonat 2022"


def test_no_comma_stands_between_thousands_where_it_is_the_decimal_sign():
    with shown_as(Preferences(decimals=DecimalShown.COMMA)):
        assert say("{hours:,.1f} h", hours=-8766.5) == "−8\u202f766,5 h"
    assert say("{hours:,.1f} h", hours=-8766.5) == "−8,766.5 h"


def test_a_label_follows_the_reader_and_its_value_does_not():
    assert Kind.MEASURED.label == "measured"
    with shown_as(GERMAN):
        assert (Kind.MEASURED.label, Kind.MEASURED.value) == ("gemessen", "measured")


def test_an_allowed_range_is_said_with_its_unit_and_without_one():
    assert NIGHTS.allowed == "a number above 0 and up to 365"
    with shown_as(GERMAN):
        assert NIGHTS.label == "Nächte ohne Laden"
        assert WARRANTY_YEARS.allowed == "über 0 bis 50 Jahre"
        assert Problem(NIGHTS.label, "", "eine Zahl").sentence == (
            "Nächte ohne Laden: nichts, erwartet eine Zahl."
        )


def test_a_unit_is_read_in_the_words_that_a_page_shows():
    assert WARRANTY_YEARS.parse("5 Jahre") == 5


def test_a_typical_meter_is_the_same_in_every_language_and_called_as_its_reader_does():
    english = typical(MeterKind.SHUNT)
    with shown_as(GERMAN):
        assert typical(MeterKind.SHUNT) == english
        assert english.shown_name == "Messwiderstand"
    assert english.shown_name == english.name == "Shunt with display"


def test_a_meter_that_has_a_name_keeps_it():
    named = replace(typical(MeterKind.SHUNT), name="Brass one")
    with shown_as(GERMAN):
        assert named.shown_name == "Brass one"


def test_words_are_kept_in_english_to_be_said_where_they_are_shown():
    with shown_as(GERMAN):
        measured = next(word for word in WORDS if word.key == "measured")
        assert (measured.name, say(measured.name)) == ("measured", "gemessen")


def test_a_range_of_temperatures_stands_in_the_reader_s_unit():
    fahrenheit = Preferences(temperature=TemperatureShown.FAHRENHEIT)
    span, about = CelsiusRange(-5, 60), CelsiusAround(25, 5)
    assert say("{range:g}", range=span) == "−5 to 60 °C"
    assert say("{needed:g}", needed=about) == "25 ± 5 °C"
    with shown_as(fahrenheit):
        assert say("{range:g}", range=span) == "23 to 140 °F (−5 to 60 °C)"
        assert say("{needed:g}", needed=about) == "77 ± 9 °F (25 ± 5 °C)"


def test_what_a_field_of_temperature_allows_is_said_in_both_units_where_one_asked_for_it():
    assert COLD_WEEK.allowed == "a number from −40 to 40 °C"
    with shown_as(Preferences(temperature=TemperatureShown.FAHRENHEIT)):
        assert COLD_WEEK.allowed == "a number from −40 to 40 °C (so −40 to 104 °F)"
        assert NIGHTS.allowed == "a number above 0 and up to 365"
