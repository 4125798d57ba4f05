"""Who reads, with the catalogue of their language."""

from functools import cache

from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import Language, Preferences
from app.languages.catalogue import texts_in


@cache
def reader_with(preferences: Preferences) -> Reader:
    """The reader with these preferences; of DEVICE it is not known which, and English is read."""
    if preferences.language is Language.GERMAN:
        return Reader(preferences, texts_in(Language.GERMAN))
    return Reader(preferences)
