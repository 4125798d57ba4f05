"""How a test stands against the label, and against the battery's first test."""

import math
from dataclasses import dataclass
from datetime import date

from scipy.special import stdtr

from app.analysis.evidence.result import Result
from app.analysis.statistics.budget import Budget
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import say

NORMAL_FREEDOM = 1e9


@dataclass(frozen=True)
class FirstTest:
    """The battery's first measured test; standard uncertainties in Ah.

    same_meter says that the gain is shared, so that it cancels in the difference.
    """

    on_date: date
    capacity_ah: float
    standard_ah: float
    independent_ah: float
    same_meter: bool


@dataclass(frozen=True)
class Verdict:
    """A comparison with a reference, in words.

    share is what was measured, or of a lower bound the count less its uncertainty, over the
    reference; probability_below the chance that the true value lies below the reference, None
    where the test cannot say.
    """

    against: str
    against_ah: float
    share: float
    probability_below: float | None
    words: str


def probability_below(value: float, reference: float, budget: Budget) -> float:
    """Chance that the true value behind a measured one lies below the reference (Student's t)."""
    return chance_short(reference - value, budget.standard_ah, budget.degrees_of_freedom)


def chance_short(missing_ah: float, standard_ah: float, freedom: int | None = None) -> float:
    """Chance that a value is short of a level which it was found to miss by missing_ah."""
    if standard_ah == 0:
        return 0.5 if missing_ah == 0 else float(missing_ah > 0)
    distance = missing_ah / standard_ah
    return float(stdtr(NORMAL_FREEDOM if freedom is None else freedom, distance))


def verdict(
    kind: EvidenceKind, capacity_ah: float, budget: Budget, against: str, against_ah: float
) -> Verdict:
    """Compare a result with a reference capacity that is exact (both in Ah)."""
    share = _proven(kind, capacity_ah, budget) / against_ah
    if kind is EvidenceKind.UNUSABLE:
        return Verdict(against, against_ah, share, None, say("This test cannot be compared."))
    if kind is EvidenceKind.MEASURED:
        below = probability_below(capacity_ah, against_ah, budget)
        return Verdict(
            against,
            against_ah,
            share,
            below,
            say("{likelihood} below {against}", likelihood=likelihood(below), against=against),
        )
    if share >= 1:
        below = probability_below(capacity_ah, against_ah, budget)
        words = say("at least {against}: the bound alone lies above it", against=against)
        return Verdict(against, against_ah, share, below, words)
    # Rounded down: a bound that is rounded up claims more than was counted.
    percent = math.floor(share * 100)
    words = say(
        "cannot be told: at least {percent} % of {against} was there, perhaps all of it",
        percent=percent,
        against=against,
    )
    return Verdict(against, against_ah, share, None, words)


def _proven(kind: EvidenceKind, capacity_ah: float, budget: Budget) -> float:
    """The measured capacity, or of a lower bound what is certain: the count less its U."""
    if kind is EvidenceKind.AT_LEAST:
        return max(0.0, capacity_ah - budget.expanded_ah)
    return capacity_ah


def likelihood(probability: float) -> str:
    """A probability in words that never say certain."""
    if probability > 0.995:
        return say("more than 99 % likely")
    if probability < 0.005:
        return say("less than 1 % likely")
    return say("{percent:.0f} % likely", percent=probability * 100)


def verdicts(
    result: Result, rated_ah: float, usable_ah: float, first: FirstTest | None
) -> tuple[Verdict, ...]:
    """Against the rated capacity, the rated less the reserve, and the first measured test."""

    def against(words: str, value: float) -> Verdict:
        return verdict(result.kind, result.capacity_ah, result.budget, words, value)

    rated = say("the rated {rated_ah:g} Ah", rated_ah=rated_ah)
    if any(one.out_of_range for one in result.corrections):
        rated = say(
            "the rated {rated_ah:g} Ah, at the test's own temperature and current",
            rated_ah=rated_ah,
        )
    made = [against(rated, rated_ah)]
    if usable_ah < rated_ah:
        made.append(
            against(
                say("the {usable_ah:g} Ah of the label less the reserve", usable_ah=usable_ah),
                usable_ah,
            )
        )
    if first is not None:
        made.append(against_first(result, first))
    return tuple(made)


def against_first(result: Result, first: FirstTest) -> Verdict:
    """Compare with the first measured test, which has an uncertainty of its own.

    With the same meter its gain is wrong by the same share both times and drops out.
    """
    words = say(
        "the first test, {capacity_ah:.1f} Ah on {day}",
        capacity_ah=first.capacity_ah,
        day=first.on_date,
    )
    share = _proven(result.kind, result.capacity_ah, result.budget) / first.capacity_ah
    if result.kind is EvidenceKind.UNUSABLE:
        return Verdict(words, first.capacity_ah, share, None, say("This test cannot be compared."))
    if first.same_meter:
        here, there = result.budget.independent_ah, first.independent_ah
    else:
        here, there = result.budget.standard_ah, first.standard_ah
    below = chance_short(first.capacity_ah - result.capacity_ah, math.hypot(here, there))
    if result.kind is EvidenceKind.MEASURED:
        said = say("{likelihood} below {against}", likelihood=likelihood(below), against=words)
        return Verdict(words, first.capacity_ah, share, below, said)
    said = say(
        "cannot be told against {against}: this test gives a lower bound only", against=words
    )
    return Verdict(words, first.capacity_ah, share, None, said)
