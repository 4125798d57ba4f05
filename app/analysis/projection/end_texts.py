"""The sentence that says when a battery will hold too little, by what of it is known."""

from app.domain.i18n.marks import N_

_BEYOND = N_("Very likely later than {years:.0f} years after the first test.")
_NOT_BEFORE_AND_BEYOND = N_(
    "Very likely not before {start}; more likely than not beyond {years:.0f} years after the "
    "first test."
)
_NOT_BEFORE = N_(
    "Very likely not before {start}; no latest day within {years:.0f} years after the first test."
)
_NOT_BEFORE_AND_HALF = N_(
    "Around {middle}; very likely not before {start}, no latest day within {years:.0f} years "
    "after the first test."
)
_BETWEEN = N_("Very likely not before {start}, nor after {end}.")
_BETWEEN_AND_HALF = N_("Around {middle}; very likely not before {start}, nor after {end}.")
# Once the day has passed before which it is very likely still above.
_PERHAPS_BEYOND = N_(
    "May be below the limit already ({below}); more likely than not beyond {years:.0f} years after "
    "the first test."
)
_PERHAPS_AND_HALF = N_(
    "Around {middle}; may be below the limit already ({below}), no latest day within {years:.0f} "
    "years after the first test."
)
_PERHAPS_BETWEEN = N_(
    "Around {middle}; may be below the limit already ({below}), very likely not after {end}."
)


def end_text(*, beyond: bool, passed: bool, start: bool, middle: bool, last: bool) -> str:
    """The text with its places for dates: start, middle and last say which dates there are.

    beyond says that the middle lies beyond the horizon, passed that the start has passed.
    """
    if passed and start:
        if beyond or not middle:
            return _PERHAPS_BEYOND
        return _PERHAPS_BETWEEN if last else _PERHAPS_AND_HALF
    if beyond:
        return _NOT_BEFORE_AND_BEYOND if start else _BEYOND
    if last:
        return _BETWEEN_AND_HALF if middle else _BETWEEN
    return _NOT_BEFORE_AND_HALF if middle else _NOT_BEFORE
