"""Where a reading came from is said in the reader's language."""

from app.domain.i18n.preferences import Language, Preferences
from app.domain.i18n.source_label import origin
from app.languages.readers import reader_with


def test_a_way_is_said_and_an_unknown_one_stays():
    assert origin("page") == "typed on the page"
    german = reader_with(Preferences(language=Language.GERMAN))
    assert german.read(origin("feed")) == "von einem Gerät geschickt"
    assert german.read(origin("pigeon")) == "pigeon"
