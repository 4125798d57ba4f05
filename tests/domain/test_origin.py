"""Where a reading came from is said in the reader's language."""

from app.domain.origin import origin
from app.domain.preferences import Language, Preferences
from app.domain.saying import shown_as


def test_a_way_is_said_and_an_unknown_one_stays():
    assert origin("page") == "typed on the page"
    with shown_as(Preferences(language=Language.GERMAN)):
        assert origin("feed") == "von einem Gerät geschickt"
        assert origin("pigeon") == "pigeon"
