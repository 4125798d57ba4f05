"""The answer of a comparison in sentences."""

from collections.abc import Sequence

from app.analysis.comparison import LEVEL, Difference
from app.analysis.comparison_power import MOST_FURTHER_TESTS, POWER, Record
from app.analysis.comparison_side import ComparedSide
from app.analysis.trend_point import DAYS_PER_YEAR
from app.analysis.verdict import likelihood


def move_words(gap: Difference) -> str:
    """What a move changed; the difference is the rate after it less that before it."""
    size = f"{abs(gap.points_per_year):.1f} points a year"
    way = "faster" if gap.points_per_year >= 0 else "slower"
    surer = gap.probability_faster if gap.points_per_year >= 0 else 1 - gap.probability_faster
    chance = f"That it fades {way} at all is {likelihood(surer)}."
    if gap.proven:
        return f"After the move it fades {way}, by {size}, {gap.interval_words}. {chance}"
    return (
        f"No change proven: after the move it fades {size} {way} than before, "
        f"{gap.interval_words}. {chance}"
    )


def no_rate_words(sides: Sequence[ComparedSide]) -> str:
    """Why two sides cannot be compared."""
    reasons = " ".join(
        f"{side.name}: {side.no_rate_because}" for side in sides if side.no_rate_because
    )
    return f"{sides[0].name} and {sides[1].name} cannot be compared. {reasons}"


def further_words(records: Sequence[Record], needed: int, further: int | None, shown: float) -> str:
    """How many more tests a difference of `shown` points takes.

    needed is how many records must have a measured test before that can be told.
    """
    size = f"{shown:g} point{'' if shown == 1 else 's'} a year"
    at = f"{LEVEL * 100:.0f} % confidence, {POWER * 100:.0f} % power"
    if len(records) < needed:
        return f"How many tests would show {size} can be told after a measured test of each."
    of = "each" if needed > 1 else "it"
    if further is None:
        return (
            f"A real difference of {size} would not show within {MOST_FURTHER_TESTS} more tests "
            f"of {of} as good as these ({at})."
        )
    if further == 0:
        return f"A real difference of {size} would show with the tests there are ({at})."
    years = further * max(one.interval_days for one in records) / DAYS_PER_YEAR
    span = f"{years:.1f} years" if years >= 1 else f"{max(1, round(12 * years))} months"
    tests = "1 more test" if further == 1 else f"{further} more tests"
    return (
        f"A real difference of {size} would show after {tests} of {of} as good as these, in about "
        f"{span} at your intervals ({at})."
    )


def answers(pairs: Sequence[tuple[str, str, Difference | None]]) -> tuple[str, ...]:
    """Sentences for all pairs: their words, further words and differences."""
    if len(pairs) == 1:
        return pairs[0][:2]
    known = [gap for _, _, gap in pairs if gap is not None]
    proven = sum(1 for gap in known if gap.proven)
    differ = {0: "none is proven different", 1: "1 is proven different"}.get(
        proven, f"{proven} are proven different"
    )
    first = (
        f"Of the {len(pairs)} pairs {len(known)} can be compared, and {differ}. Where many pairs "
        "are looked at, some look different by chance: each interval is widened so that all "
        f"{len(pairs)} together hold the truth with {LEVEL * 100:.0f} % (after Bonferroni)."
    )
    return (first, *(words for words, _, _ in pairs))
