"""The answer of a comparison in sentences."""

from collections.abc import Sequence

from app.analysis.comparison import LEVEL, Difference
from app.analysis.comparison_power import MOST_FURTHER_TESTS, POWER, Record
from app.analysis.comparison_side import ComparedSide
from app.analysis.trend_point import DAYS_PER_YEAR
from app.analysis.verdict import likelihood
from app.domain.saying import say


def move_words(gap: Difference) -> str:
    """What a move changed; the difference is the rate after it less that before it."""
    size = say("{points_per_year:.1f} points a year", points_per_year=abs(gap.points_per_year))
    way = "faster" if gap.points_per_year >= 0 else "slower"
    surer = gap.probability_faster if gap.points_per_year >= 0 else 1 - gap.probability_faster
    chance = say(
        "That it fades {way} at all is {likelihood}.", way=way, likelihood=likelihood(surer)
    )
    if gap.proven:
        return say(
            "After the move it fades {way}, by {size}, {interval_words}. {chance}",
            way=way,
            size=size,
            interval_words=gap.interval_words,
            chance=chance,
        )
    return say(
        "No change proven: after the move it fades {size} {way} than before, "
        "{interval_words}. {chance}",
        size=size,
        way=way,
        interval_words=gap.interval_words,
        chance=chance,
    )


def no_rate_words(sides: Sequence[ComparedSide]) -> str:
    """Why two sides cannot be compared."""
    reasons = " ".join(
        f"{side.name}: {side.no_rate_because}" for side in sides if side.no_rate_because
    )
    return say(
        "{name} and {name_2} cannot be compared. {reasons}",
        name=sides[0].name,
        name_2=sides[1].name,
        reasons=reasons,
    )


def further_words(records: Sequence[Record], needed: int, further: int | None, shown: float) -> str:
    """How many more tests a difference of `shown` points takes.

    needed is how many records must have a measured test before that can be told.
    """
    size = say("{shown:g} point{value} a year", shown=shown, value="" if shown == 1 else "s")
    at = say("{level:.0f} % confidence, {power:.0f} % power", level=LEVEL * 100, power=POWER * 100)
    if len(records) < needed:
        return say(
            "How many tests would show {size} can be told after a measured test of each.", size=size
        )
    of = "each" if needed > 1 else "it"
    if further is None:
        return say(
            "A real difference of {size} would not show within {most_further_tests} more "
            "tests of {of} as good as these ({at}).",
            size=size,
            most_further_tests=MOST_FURTHER_TESTS,
            of=of,
            at=at,
        )
    if further == 0:
        return say(
            "A real difference of {size} would show with the tests there are ({at}).",
            size=size,
            at=at,
        )
    years = further * max(one.interval_days for one in records) / DAYS_PER_YEAR
    span = (
        say("{years:.1f} years", years=years)
        if years >= 1
        else say("{value} months", value=max(1, round(12 * years)))
    )
    tests = say("1 more test") if further == 1 else say("{further} more tests", further=further)
    return say(
        "A real difference of {size} would show after {tests} of {of} as good as "
        "these, in about {span} at your intervals ({at}).",
        size=size,
        tests=tests,
        of=of,
        span=span,
        at=at,
    )


def answers(pairs: Sequence[tuple[str, str, Difference | None]]) -> tuple[str, ...]:
    """Sentences for all pairs: their words, further words and differences."""
    if len(pairs) == 1:
        return pairs[0][:2]
    known = [gap for _, _, gap in pairs if gap is not None]
    proven = sum(1 for gap in known if gap.proven)
    differ = {0: say("none is proven different"), 1: say("1 is proven different")}.get(
        proven, say("{proven} are proven different", proven=proven)
    )
    first = say(
        "Of the {pairs} pairs {known} can be compared, and {differ}. Where many pairs "
        "are looked at, some look different by chance: each interval is widened so "
        "that all {pairs} together hold the truth with {level:.0f} % (after "
        "Bonferroni).",
        pairs=len(pairs),
        known=len(known),
        differ=differ,
        level=LEVEL * 100,
    )
    return (first, *(words for words, _, _ in pairs))
