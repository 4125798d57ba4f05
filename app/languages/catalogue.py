"""The catalogue of a language: for each English text the same one in that language (gettext PO)."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po

from app.domain.i18n.preferences import Language

FOLDER = Path(__file__).parent


def file_of(language: Language) -> Path:
    return FOLDER / f"{language.value}.po"


def read_catalogue(language: Language) -> Catalog:
    """The whole file, with where each text stands."""
    with file_of(language).open("rb") as opened:
        return read_po(opened, locale=language.value)


@cache
def texts_in(language: Language) -> Mapping[str, str]:
    """English text to translated text; a text without a translation is not in it."""
    return {
        str(one.id): str(one.string)
        for one in read_catalogue(language)
        if one.id and one.string and not one.fuzzy
    }
