"""A number keeps its unit beside it in German, where words are longer and lines end sooner."""

import pytest

from app.domain.i18n.preferences import Language
from app.languages.catalogue import texts_in


@pytest.mark.parametrize(
    ("english", "kept"),
    [
        ("{ah:.1f} Ah so far", "{ah:.1f}\u00a0Ah"),
        ("Shaded: 9 in 10 such batteries; inner part: 5 in 10.", "5\u00a0von\u00a010"),
        (
            "The notes say that {end_reason}. The last voltage of {last_v:.2f} V fits: this "
            "battery is empty at or below {empty_v:.2f} V.",
            "{empty_v:.2f}\u00a0V",
        ),
    ],
)
def test_no_line_ends_between_a_number_and_its_unit(english, kept):
    assert kept in texts_in(Language.GERMAN).gettext(english)
