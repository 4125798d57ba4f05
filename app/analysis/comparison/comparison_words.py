"""The answer of a comparison in sentences."""

from collections.abc import Sequence

from app.analysis.comparison.comparison import Difference
from app.analysis.comparison.comparison_power import MAX_FURTHER_TESTS, Record
from app.analysis.comparison.comparison_side import ComparedSide
from app.analysis.evidence.verdict import likelihood
from app.analysis.fade.fade_power import POWER
from app.analysis.statistics.coverage import LEVEL
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say, say_plural
from app.domain.units.time_units import DAYS_PER_YEAR

# Whether the change is proven, and whether it is to a faster fade.
MOVE_WORDS = {
    (True, True): N_(
        "After the move it fades faster, by {points:.1f} points a year, {interval}. It is "
        "{likelihood} that it fades faster at all."
    ),
    (True, False): N_(
        "After the move it fades more slowly, by {points:.1f} points a year, {interval}. It is "
        "{likelihood} that it fades more slowly at all."
    ),
    (False, True): N_(
        "No change proven: after the move it fades {points:.1f} points a year faster than "
        "before, {interval}. It is {likelihood} that it fades faster at all; a proof takes "
        "{needed:.1f} %."
    ),
    (False, False): N_(
        "No change proven: after the move it fades {points:.1f} points a year more slowly than "
        "before, {interval}. It is {likelihood} that it fades more slowly at all; a proof takes "
        "{needed:.1f} %."
    ),
}


def move_words(gap: Difference) -> str:
    """What a move changed; the difference is the rate after it less that before it."""
    faster = gap.points_per_year >= 0
    return say(
        MOVE_WORDS[gap.proven, faster],
        points=abs(gap.points_per_year),
        interval=gap.interval_words,
        likelihood=likelihood(gap.probability_faster if faster else 1 - gap.probability_faster),
        needed=gap.needed_percent,
    )


def no_rate_words(sides: Sequence[ComparedSide]) -> str:
    """Why two sides cannot be compared."""
    reasons = joined(
        " ",
        (joined(": ", (side.name, side.no_rate_because)) for side in sides if side.no_rate_because),
    )
    first, second = sides[0].name, sides[1].name
    said = say("{first} and {second} cannot be compared.", first=first, second=second)
    return joined(" ", (said, reasons))


def further_words(records: Sequence[Record], needed: int, further: int | None, shown: float) -> str:
    """How many more tests a difference of `shown` points takes.

    needed is how many records must have a measured test before that can be told.
    """
    size = say_plural("1 point a year", "{count:g} points a year", shown)
    sureness = say(
        "{confidence:.0f} % confidence, {power:.0f} % power",
        confidence=LEVEL * 100,
        power=POWER * 100,
    )
    if len(records) < needed:
        return say(
            "After a measured test of each, Fadeline can say how many tests would show {size}.",
            size=size,
        )
    if further is None:
        return say(
            "A real difference of {size} would not show within {tests} as good as these "
            "({sureness}).",
            size=size,
            tests=_more_tests(MAX_FURTHER_TESTS, needed),
            sureness=sureness,
        )
    if further == 0:
        return say(
            "A real difference of {size} would show with the tests there are ({sureness}).",
            size=size,
            sureness=sureness,
        )
    years = further * max(one.interval_days for one in records) / DAYS_PER_YEAR
    return say(
        "A real difference of {size} would show after {tests} as good as these, {in_time} at "
        "these intervals ({sureness}).",
        size=size,
        tests=_more_tests(further, needed),
        in_time=_in_time(years),
        sureness=sureness,
    )


def _more_tests(further: int, batteries: int) -> str:
    if batteries > 1:
        return say_plural("1 more test of each", "{count} more tests of each", further)
    return say_plural("1 more test of it", "{count} more tests of it", further)


def _in_time(years: float) -> str:
    if years >= 1:
        return say("in about {years:.1f} years", years=years)
    months = max(1, round(12 * years))
    return say_plural("in about 1 month", "in about {count} months", months)


def answers(pairs: Sequence[tuple[str, str, Difference | None]]) -> tuple[str, ...]:
    """Sentences for all pairs: their words, further words and differences."""
    if len(pairs) == 1:
        return pairs[0][:2]
    known = [gap for _, _, gap in pairs if gap is not None]
    proven = sum(1 for gap in known if gap.proven)
    count = say_plural(
        "Of the {pairs} pairs {known} can be compared, and 1 is proven different.",
        "Of the {pairs} pairs {known} can be compared, and {count} are proven different.",
        proven,
        pairs=len(pairs),
        known=len(known),
    )
    if not proven:
        count = say(
            "Of the {pairs} pairs {known} can be compared, and none is proven different.",
            pairs=len(pairs),
            known=len(known),
        )
    chance = say(
        "Where many pairs are looked at, some look different by chance: each interval is widened "
        "so that all {pairs} together hold the truth with {confidence:.0f} % (after Bonferroni).",
        pairs=len(pairs),
        confidence=LEVEL * 100,
    )
    return (joined(" ", (count, chance)), *(words for words, _, _ in pairs))
