"""What a warranty promises of the capacity, as far as a capacity test can tell."""

from dataclasses import dataclass
from datetime import date

from app.analysis.level import Level
from app.domain.saying import say
from app.domain.warranty import Warranty


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
    ah = warranty.share * rated_ah
    promise = say(
        "{share:g} % of the rated {rated_ah:g} Ah ({ah:.1f} Ah)",
        share=100 * warranty.share,
        rated_ah=rated_ah,
        ah=ah,
    )
    end = warranty.ends_on
    words = say(
        "The warranty promises {promise}{lasting}.",
        promise=promise,
        lasting=_lasting(warranty, end),
    )
    if warranty.cycles is not None:
        words += say(
            " It ends earlier after {cycles:g} full cycles; a capacity test does not count them.",
            cycles=warranty.cycles,
        )
    if warranty.from_date is not None and on < warranty.from_date:
        return WarrantyLevel(say("{words} This test was done before it began.", words=words), None)
    if end is not None and on > end:
        return WarrantyLevel(
            say("{words} This test was done after it had ended.", words=words), None
        )
    return WarrantyLevel(
        words, Level(say("warranty: {share:g} % of rated", share=100 * warranty.share), ah)
    )


def _lasting(warranty: Warranty, end: date | None) -> str:
    if end is not None and warranty.from_date is not None:
        return say(" from {day} until {day_2}", day=_day(warranty.from_date), day_2=_day(end))
    if warranty.years is not None:
        return say(" for {years:g} years; from which day on was not noted", years=warranty.years)
    return say("; for how long was not noted")


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
