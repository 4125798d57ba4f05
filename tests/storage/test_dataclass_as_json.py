"""A report and its cards come back from JSON as they were; nothing else comes back at all."""

import zlib
from dataclasses import dataclass
from datetime import date

import pytest

from app.domain.i18n.message import Celsius, Digits, joined, say, say_plural, transformed
from app.domain.i18n.message_as_data import kept_by_name
from app.domain.i18n.preferences import Language, Preferences
from app.languages.readers import reader_with
from app.storage.schema.dataclass_as_json import pack_dataclass, unpack_dataclass

german = reader_with(Preferences(language=Language.GERMAN)).read


@dataclass(frozen=True)
class Inside:
    words: str
    on: date | None = None


@dataclass(frozen=True)
class Thing:
    number: int
    share: float
    pair: tuple[float, float]
    parts: tuple[Inside, ...]
    sure: bool = True


@kept_by_name
def shortened(said):
    return said.rstrip(".")


def a_thing(words="plain", share=0.1):
    return Thing(7, share, (1.0, -2.5), (Inside(words, date(2024, 2, 29)), Inside("")))


@pytest.mark.parametrize(
    "words",
    [
        "Somebody wrote: {this} “%”\0",
        say("Loses"),
        say_plural("1 measured test", "{count} measured tests", 3),
        transformed(say("No test yet."), shortened),
        joined("; ", (say("Next test"), say("{c} at {n}", c=Celsius(3.5), n=Digits("1.2")))),
    ],
    ids=["text", "message", "plural", "transform", "joined"],
)
def test_a_thing_comes_back_as_it_was_in_every_language(words):
    given = a_thing(words)
    back = unpack_dataclass(pack_dataclass(given), Thing)
    assert back == given
    assert german(back.parts[0].words) == german(words)


def test_what_would_not_come_back_the_same_is_refused():
    with pytest.raises(TypeError, match="only English"):
        pack_dataclass(a_thing(transformed(say("Loses"), lambda said: said.upper())))
    with pytest.raises(TypeError, match="cannot be kept"):
        pack_dataclass(a_thing(words={"a": 1}))


@pytest.mark.parametrize(
    "text",
    [
        '["7",0.1,[1.0,-2.5],[],true]',
        "[7,0.1,[1.0],[],true]",
        "[7,0.1,[1.0,-2.5],[],1]",
        '[7,0.1,[1.0,-2.5],[["a","2024-02-30"]],true]',
        '[7,0.1,[1.0,-2.5],[[{"text":"{a}","values":{}},null]],true]',
        '[7,0.1,[1.0,-2.5],[[{"text":"a","values":{},"by":"exit"},null]],true]',
        "[7,0.1,[1.0,-2.5],[]]",
        "[7,null,[1.0,-2.5],[],true]",
    ],
)
def test_a_text_that_does_not_fit_to_the_letter_is_none(text):
    with pytest.raises(ValueError, match="not a kept Thing"):
        unpack_dataclass(zlib.compress(text.encode()), Thing)
