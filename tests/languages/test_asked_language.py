"""The language that a browser asks for (RFC 9110, 12.5.4)."""

import pytest
from fastapi import Request

from app.domain.i18n.preferences import Language
from app.web.rendering.locale import asked_language

GERMAN, ENGLISH = Language.GERMAN, Language.ENGLISH


def asking(*header: str) -> Language:
    headers = [(b"accept-language", one.encode()) for one in header]
    return asked_language(Request({"type": "http", "headers": headers}))


@pytest.mark.parametrize(
    ("header", "language"),
    [
        ("de", GERMAN),
        ("de-AT", GERMAN),
        ("DE-ch", GERMAN),
        ("de-DE,de;q=0.9,en;q=0.8", GERMAN),
        ("en-GB,en;q=0.9,de;q=0.8", ENGLISH),
        # What we do not know is passed over.
        ("fr,de;q=0.5,en;q=0.4", GERMAN),
        ("fr", ENGLISH),
        # The weight counts, not the place; of equal ones the first.
        ("en;q=0.2, de;q=0.9", GERMAN),
        ("en;q=0.5, de;q=0.5", ENGLISH),
        # A weight of nought refuses a language.
        ("de;q=0", ENGLISH),
        ("de;q=0, en;q=0.1", ENGLISH),
        # Nonsense changes nothing.
        ("de;q=much", ENGLISH),
        ("", ENGLISH),
        (",;q=1,,", ENGLISH),
        ("*", ENGLISH),
        # Another language that begins alike.
        ("den", ENGLISH),
    ],
)
def test_the_best_of_the_known_languages_is_taken(header, language):
    assert asking(header) is language


def test_without_a_wish_it_is_english():
    assert asking() is ENGLISH
