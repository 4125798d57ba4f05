"""The catalogue of a language: for each English text the same one in that language (gettext PO)."""

from functools import cache
from gettext import GNUTranslations
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from app.domain.i18n.preferences import Language

# The library is imported when a catalogue is first read: who reads English needs none.
if TYPE_CHECKING:
    from babel.messages.catalog import Catalog

FOLDER = Path(__file__).parent


def file_of(language: Language) -> Path:
    return FOLDER / f"{language.value}.po"


def read_catalogue(language: Language) -> "Catalog":
    """The whole file, with where each text stands."""
    from babel.messages.pofile import read_po

    with file_of(language).open("rb") as opened:
        return read_po(opened, locale=language.value)


@cache
def texts_in(language: Language) -> GNUTranslations:
    """The texts of the file; one without a translation stays English.

    They are compiled when they are first read, in a twentieth of a second: so no compiled file can
    be older than the one that people write.
    """
    from babel.messages.mofile import write_mo

    compiled = BytesIO()
    write_mo(compiled, read_catalogue(language))
    compiled.seek(0)
    return GNUTranslations(compiled)
