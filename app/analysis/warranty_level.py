"""What a warranty promises of the capacity, as far as a capacity test can tell."""

from dataclasses import dataclass
from datetime import date

from app.analysis.level import Level
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
    promise = f"{100 * warranty.share:g} % of the rated {rated_ah:g} Ah ({ah:.1f} Ah)"
    end = warranty.ends_on
    words = f"The warranty promises {promise}{_lasting(warranty, end)}."
    if warranty.cycles is not None:
        words += (
            f" It ends earlier after {warranty.cycles:g} full cycles; a capacity test does not "
            "count them."
        )
    if warranty.from_date is not None and on < warranty.from_date:
        return WarrantyLevel(f"{words} This test was done before it began.", None)
    if end is not None and on > end:
        return WarrantyLevel(f"{words} This test was done after it had ended.", None)
    return WarrantyLevel(words, Level(f"warranty: {100 * warranty.share:g} % of rated", ah))


def _lasting(warranty: Warranty, end: date | None) -> str:
    if end is not None and warranty.from_date is not None:
        return f" from {_day(warranty.from_date)} until {_day(end)}"
    if warranty.years is not None:
        return f" for {warranty.years:g} years; from which day on was not noted"
    return "; for how long was not noted"


def _day(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
