"""What is to be compared, as an address gives it: battery=1&battery=2, or one and moved_on."""

from collections.abc import Mapping, Sequence
from datetime import date

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.message import say
from app.domain.quantity import DIFFERENCE_SHOWN
from app.services.reports.comparison import USUALLY_SHOWN, ComparisonWish
from app.web.forms.form_reader import FormReader

SHOW = f"{USUALLY_SHOWN:g}"


def read_comparison(
    chosen: Sequence[str], values: Mapping[str, str], today: date
) -> ComparisonWish:
    """chosen are the numbers of batteries as sent.

    Raises InvalidInput with all problems at once.
    """
    reader = FormReader({"show": SHOW, **values})
    shown = reader.number("show", DIFFERENCE_SHOWN)
    moved_on = reader.optional_day("moved_on", say("date of the move"), today)
    ids, problems = [], []
    for text in chosen:
        if text.isascii() and text.isdigit() and len(text) < 16:
            ids.append(int(text))
        else:
            allowed = say("the number of a battery")
            problems.append(
                FieldError(say("batteries to compare"), truncate(text), allowed, "battery")
            )
    if problems or not reader.fine:
        raise InvalidInput([*problems, *reader.problems])
    return ComparisonWish(tuple(ids), moved_on, shown)
