"""How long a battery may go untested by published practice."""

from dataclasses import dataclass

from app.domain.i18n.message import say

MAX_YEARS = 2.0
SHARE_OF_LIFE = 0.25
OLD_SHARE_OF_LIFE = 0.85
DROP = 0.10
DEGRADED_SHARE = 0.90
FULL_SHARE = 1.0
# Shares are quotients of readings: 207 of 230 Ah is 90 %, not a trifle less.
ROUNDING = 1e-9


@dataclass(frozen=True)
class IntervalRule:
    """The longest wait between two capacity tests, in years, and which part of the rule says so."""

    years: float
    code: str
    words: str


def longest_interval(
    share_of_rated: float,
    previous_share: float | None,
    age_years: float | None,
    life_years: float | None,
) -> IntervalRule:
    """The longest wait after a test that found share_of_rated.

    Source: IEEE 450 and IEEE 1188 (stationary lead-acid batteries), as quoted by
    eps-stl.com/?page_id=39: within the first two years, then at most every quarter of the expected
    life (IEEE 1188: or two years, whatever is less); every year once degraded (a drop of more than
    10 % of the capacity of the test before, or below 90 % of the rating) or from 85 % of the
    expected life on, where two-yearly is still acceptable for 100 % or more without degradation.
    The US Bureau of Reclamation asks the same yearly test below 90 % (Storage Battery
    Maintenance). Nothing of the kind is published for house batteries: taken over as the longest
    wait (common practice).

    previous_share: what the measured test before found. age_years, life_years: None where unknown.
    """
    dropped = previous_share is not None and share_of_rated < previous_share * (1 - DROP) - ROUNDING
    if dropped:
        return IntervalRule(1.0, "dropped", say("it lost more than 10 % since the test before"))
    if share_of_rated < DEGRADED_SHARE - ROUNDING:
        return IntervalRule(1.0, "degraded", say("it holds less than 90 % of its rated capacity"))
    quarter = None if life_years is None else SHARE_OF_LIFE * life_years
    old = (
        age_years is not None
        and life_years is not None
        and age_years >= OLD_SHARE_OF_LIFE * life_years - ROUNDING
    )
    if old and share_of_rated < FULL_SHARE - ROUNDING:
        return IntervalRule(1.0, "old", say("it has reached 85 % of its expected life"))
    if old:
        words = say("it is old, but holds its rated capacity and has not degraded")
        return IntervalRule(MAX_YEARS, "old_but_full", words)
    if quarter is not None and quarter < MAX_YEARS:
        return IntervalRule(quarter, "quarter_of_life", say("a quarter of its expected life"))
    return IntervalRule(MAX_YEARS, "two_years", say("at most two years"))
