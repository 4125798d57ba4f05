"""A message that was kept as plain data reads the same to everybody."""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.entities.discharge import EndReason
from app.domain.i18n.message import (
    ENGLISH,
    AlsoFahrenheit,
    Celsius,
    CelsiusAround,
    CelsiusRange,
    Digits,
    Message,
    Reader,
    joined,
    say,
    transformed,
)
from app.domain.i18n.message_as_data import from_plain, plain
from app.domain.i18n.preferences import DateShown, Language, Preferences, TemperatureShown
from app.domain.units.column import ColumnUse
from app.ingest.reader import read_file
from app.languages.catalogue import texts_in
from app.languages.readers import reader_with

GERMAN = reader_with(Preferences(language=Language.GERMAN))
READERS = (
    ENGLISH,
    GERMAN,
    Reader(
        Preferences(Language.GERMAN, TemperatureShown.FAHRENHEIT, DateShown.YEAR_FIRST),
        texts_in(Language.GERMAN),
    ),
)
LOG = b"time_s;current A;voltage V;spare A\n" + b"".join(
    f"{600 * i};{(0, 9, 9, 9, 9, 9, 0, 0)[i]};13,{9 - i}0;\n".encode() for i in range(8)
)

numbers = st.floats(-1e6, 1e6)
moments = st.datetimes(
    datetime(1970, 1, 1),
    datetime(2100, 1, 1),
    timezones=st.none()
    | st.integers(-840, 840).map(lambda minutes: timezone(timedelta(minutes=minutes))),
)
temperatures = st.floats(-60, 90)
values = st.one_of(
    st.integers(),
    numbers,
    st.sampled_from([np.float64(0.1), np.int64(-7), True, None]),
    st.text(),
    st.sampled_from([*EndReason, *(use.label for use in ColumnUse)]),
    st.dates(date(1970, 1, 1), date(2100, 1, 1)),
    moments,
    temperatures.map(Celsius),
    st.builds(CelsiusRange, temperatures, temperatures),
    st.builds(CelsiusAround, temperatures, temperatures),
    st.builds(AlsoFahrenheit, st.text(), temperatures, temperatures),
    numbers.map(lambda number: Digits(f"{number:.2f}")),
)
messages = st.recursive(
    values.map(lambda value: say("{value} readings", value=value))
    | values.map(lambda value: say("“{heading}” is {use}.", heading="a", use=value))
    | numbers.map(lambda late_h: say("{late_h:.2g} h", late_h=late_h))
    | moments.map(lambda at: say("{start:%z}, {start:%B}", start=at))
    | st.sampled_from([say("typed"), say("Dates were read {order}.", order=say("day first"))]),
    lambda inner: (
        inner.map(lambda said: say("So {said}", said=said))
        | st.lists(inner | st.text(), max_size=3).map(lambda parts: joined("; ", parts))
        | st.builds(AlsoFahrenheit, inner, temperatures, temperatures).map(
            lambda about: say("{about}", about=about)
        )
    ),
    max_leaves=4,
)


def kept(said):
    """What comes back from JSON."""
    return from_plain(json.loads(json.dumps(plain(said))))


@settings(max_examples=300, derandomize=True)
@given(messages)
def test_a_kept_message_reads_the_same_to_every_reader(said):
    back = kept(said)
    assert [reader.read(back) for reader in READERS] == [reader.read(said) for reader in READERS]
    assert isinstance(back, Message) is isinstance(said, Message)


@given(st.text())
def test_a_string_is_kept_as_it_is(text):
    assert plain(text) == kept(text) == text
    assert type(kept(text)) is str


def test_what_is_assumed_of_a_file_is_said_in_german_after_it_was_kept():
    said = read_file(LOG).assumptions
    assert [GERMAN.read(kept(one)) for one in said] == [GERMAN.read(one) for one in said]
    assert "„current A“ ist: Strom in A." in [GERMAN.read(kept(one)) for one in said]


@pytest.mark.parametrize(
    "said",
    [
        transformed(say("typed"), str.upper),
        say("{count} rows", count=Fraction(1, 3)),
        say("{count} rows", count=object),
        say("So {said}", said=transformed(say("typed"), str.upper)),
        # In the zone of a place, which a moment alone does not name.
        say("{at:%Z}", at=datetime(2026, 7, 1, tzinfo=timezone(timedelta(hours=2), "there"))),
    ],
)
def test_what_plain_data_cannot_hold_is_kept_as_its_english_sentence(said):
    assert plain(said) == str(said)
    assert type(plain(said)) is str


@pytest.mark.parametrize(
    "spoiled",
    [
        None,
        5,
        [],
        {},
        {"text": "a"},
        {"text": 5, "values": {}},
        {"text": "a", "values": []},
        {"text": "{a}", "values": {}},
        {"text": "{a", "values": {"a": 1}},
        {"text": "{a.real}", "values": {"a": 1}},
        {"text": "{a!r}", "values": {"a": 1}},
        {"text": "{a:.2f}", "values": {"a": "word"}},
        {"text": "{a}", "values": {"a": {"word": 1}}},
        {"text": "{a}", "values": {"a": {"date": "never"}}},
        {"text": "{a}", "values": {"a": {"celsius": "warm"}}},
        {"text": "{a}", "values": {"a": {"celsius_range": {"low": 1}}}},
        {"text": "{a}", "values": {"a": {"celsius_range": {"low": "a", "high": 1}}}},
        {"text": "{a}", "values": {"a": {"date": "2026-01-01", "celsius": 1}}},
        # Formats that would fill the memory.
        {"text": "{a:999999999}", "values": {"a": 1}},
        {"text": "{a:.999999999f}", "values": {"a": 1}},
        {"text": "{a:{b}}", "values": {"a": 1, "b": 999999999}},
    ],
)
def test_what_was_not_kept_by_the_program_is_refused(spoiled):
    with pytest.raises(ValueError, match="not a kept sentence"):
        from_plain(spoiled)


def test_places_that_hold_one_another_do_not_fill_the_memory():
    laughs = {"text": "ha", "values": {}}
    for _ in range(12):
        laughs = {"text": "{a}" * 100, "values": {"a": laughs}}
    with pytest.raises(ValueError, match="not a kept sentence"):
        from_plain(laughs)


def test_a_sentence_of_unusual_length_is_kept_in_english():
    long = say("“{heading}” is {use}.", heading="a" * 10_000, use=say("a note"))
    assert plain(long) == str(long)


def test_it_is_kept_with_its_text_and_values_by_name():
    said = say("Readings since {day} at {low}", day=date(2026, 4, 3), low=Celsius(-2.5))
    assert plain(said) == {
        "text": "Readings since {day} at {low}",
        "values": {"day": {"date": "2026-04-03"}, "low": {"celsius": -2.5}},
    }
    at = datetime(2026, 4, 3, 8, tzinfo=UTC)
    assert plain(say("{at}", at=at))["values"] == {"at": {"moment": "2026-04-03T08:00:00+00:00"}}
