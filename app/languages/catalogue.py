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


def interface_file_of(language: Language) -> Path:
    """What the document of the JSON interface says of it, which stands in docstrings in English."""
    return FOLDER / f"interface.{language.value}.po"


def read_catalogue(language: Language) -> "Catalog":
    """The whole file, with where each text stands."""
    return _read(file_of(language), language)


def read_interface_catalogue(language: Language) -> "Catalog":
    return _read(interface_file_of(language), language)


def _read(file: Path, language: Language) -> "Catalog":
    from babel.messages.pofile import read_po

    with file.open("rb") as opened:
        return read_po(opened, locale=language.value)


@cache
def texts_in(language: Language) -> GNUTranslations:
    """The texts of the files; one without a translation stays English.

    They are compiled when they are first read, in a twentieth of a second: so no compiled file can
    be older than the one that people write.
    """
    from babel.messages.mofile import write_mo

    catalogue = read_catalogue(language)
    for one in read_interface_catalogue(language):
        if one.id:
            catalogue[one.id] = one
    compiled = BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    return GNUTranslations(compiled)
