"""Where readings came from is said in the reader's language, a file by its own name."""

from app.domain.origin import origin
from app.domain.preferences import Language, Preferences
from app.domain.saying import shown_as


def test_a_way_is_said_and_a_file_keeps_its_name():
    assert origin("page") == "typed on the page"
    with shown_as(Preferences(language=Language.GERMAN)):
        assert origin("typed") == "eingetippt"
        assert origin("typed.csv") == "typed.csv"
