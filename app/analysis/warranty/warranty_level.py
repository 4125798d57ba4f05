"""What a warranty promises of the capacity, as far as a capacity test can tell."""

from dataclasses import dataclass
from datetime import date

from app.analysis.evidence.level import Level
from app.domain.marks import N_
from app.domain.message import joined, say
from app.domain.warranty import Warranty

_FROM_TO = N_(
    "The warranty promises {percent:g} % of the rated {rated_ah:g} Ah ({promised_ah:.1f} Ah) from "
    "{first_day} until {last_day}."
)
_FOR_YEARS = N_(
    "The warranty promises {percent:g} % of the rated {rated_ah:g} Ah ({promised_ah:.1f} Ah) for "
    "{years:g} years; from which day on was not noted."
)
_NOT_NOTED = N_(
    "The warranty promises {percent:g} % of the rated {rated_ah:g} Ah ({promised_ah:.1f} Ah); for "
    "how long was not noted."
)


@dataclass(frozen=True)
class WarrantyLevel:
    """The terms in words, and the level that a test of that day is held against.

    words is empty where the papers promise no share; level is None then, and where the test was
    done before the warranty began or after it had ended.
    """

    words: str
    level: Level | None


def warranty_level(warranty: Warranty, rated_ah: float, on: date) -> WarrantyLevel:
    """The promise for a test of that day; rated_ah is what the share is a share of, in Ah.

    Cycles end a warranty too, but no test counts them: the words say so.
    """
    if warranty.share is None:
        return WarrantyLevel("", None)
    percent, ah, end = 100 * warranty.share, warranty.share * rated_ah, warranty.ends_on
    sentences = [
        say(
            _terms(warranty),
            percent=percent,
            rated_ah=rated_ah,
            promised_ah=ah,
            first_day=warranty.from_date,
            last_day=end,
            years=warranty.years,
        )
    ]
    if warranty.cycles is not None:
        sentences.append(
            say(
                "It ends earlier after {cycles:g} full cycles; a capacity test does not count "
                "them.",
                cycles=warranty.cycles,
            )
        )
    level: Level | None = Level(say("warranty: {percent:g} % of rated", percent=percent), ah)
    if warranty.from_date is not None and on < warranty.from_date:
        sentences.append(say("This test was done before it began."))
        level = None
    elif end is not None and on > end:
        sentences.append(say("This test was done after it had ended."))
        level = None
    return WarrantyLevel(joined(" ", sentences), level)


def _terms(warranty: Warranty) -> str:
    """For how long, as far as it was noted."""
    if warranty.ends_on is not None:
        return _FROM_TO
    return _NOT_NOTED if warranty.years is None else _FOR_YEARS
