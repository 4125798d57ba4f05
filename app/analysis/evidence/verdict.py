"""How a test stands against the label, the battery's first test and the one before."""

import math
from dataclasses import dataclass
from datetime import date

from app.analysis.evidence.result import Result
from app.analysis.statistics.budget import Budget, of_difference
from app.analysis.statistics.coverage import student_factor
from app.analysis.statistics.distributions import student_probability
from app.domain.finding import EvidenceKind
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say

NORMAL_FREEDOM = math.inf
# By whether the change is more than its doubt, and whether it is a loss.
_CHANGES = {
    (False, True): N_(
        "{change_ah:.1f} Ah less than on {day}, within the doubt of ± {doubt_ah:.1f} Ah"
    ),
    (False, False): N_(
        "{change_ah:.1f} Ah more than on {day}, within the doubt of ± {doubt_ah:.1f} Ah"
    ),
    (True, True): N_(
        "{change_ah:.1f} Ah less than on {day}; very likely {low_ah:.1f} to {high_ah:.1f} Ah less"
    ),
    (True, False): N_(
        "{change_ah:.1f} Ah more than on {day}; very likely {low_ah:.1f} to {high_ah:.1f} Ah more"
    ),
}


@dataclass(frozen=True)
class EarlierTest:
    """An earlier measured test of the battery; standard uncertainties in Ah (see
    `budget.Doubted`).

    same_meter says that the gain is shared, so that it cancels in the difference.
    """

    on_date: date
    capacity_ah: float
    standard_ah: float
    independent_ah: float
    same_meter: bool
    degrees_of_freedom: int | None = None
    rate_ah: float = 0.0


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
    return student_probability(NORMAL_FREEDOM if freedom is None else freedom, distance)


def verdict(
    kind: EvidenceKind, capacity_ah: float, budget: Budget, against: str, against_ah: float
) -> Verdict:
    """Compare a result with a reference capacity that is exact (both in Ah)."""
    share = _proven(kind, capacity_ah, budget) / against_ah
    if kind is EvidenceKind.UNUSABLE:
        return Verdict(against, against_ah, share, None, say("this test cannot be compared"))
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
        words = say("it held more than {against}, by the lower bound alone", against=against)
        return Verdict(against, against_ah, share, below, words)
    # Rounded down: a bound that is rounded up claims more than was counted.
    percent = math.floor(share * 100)
    words = say(
        "it held at least {percent} % of {against}; this test cannot say how much more",
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
    result: Result, rated_ah: float, usable_ah: float, first: EarlierTest | None
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


def against_first(result: Result, first: EarlierTest) -> Verdict:
    """Compare with the first measured test, which has an uncertainty of its own.

    With the same meter its gain is wrong by the same share both times and drops out, and so is the
    correction of the rate at the same current.
    """
    words = say(
        "the first test, {capacity_ah:.1f} Ah on {day}",
        capacity_ah=first.capacity_ah,
        day=first.on_date,
    )
    share = _proven(result.kind, result.capacity_ah, result.budget) / first.capacity_ah
    if result.kind is EvidenceKind.UNUSABLE:
        return Verdict(words, first.capacity_ah, share, None, say("this test cannot be compared"))
    below = chance_short(
        first.capacity_ah - result.capacity_ah,
        of_difference(result.budget, first, same_meter=first.same_meter),
    )
    if result.kind is EvidenceKind.MEASURED:
        said = say("{likelihood} below {against}", likelihood=likelihood(below), against=words)
        return Verdict(words, first.capacity_ah, share, below, said)
    said = say("no comparison with {against}: this test gives a lower bound only", against=words)
    return Verdict(words, first.capacity_ah, share, None, said)


def since(result: Result, before: EarlierTest) -> str:
    """What became of the capacity since the measured test before, as one sentence without a stop.

    The doubt is half the 95 % interval of the difference.
    """
    if result.kind is not EvidenceKind.MEASURED:
        return say(
            "the measured test before it gave {capacity_ah:.1f} Ah on {day}",
            capacity_ah=before.capacity_ah,
            day=before.on_date,
        )
    freedoms = (result.budget.degrees_of_freedom, before.degrees_of_freedom)
    known = [one for one in freedoms if one is not None]
    factor = student_factor(min(known) if known else None)
    lost, doubt = (
        before.capacity_ah - result.capacity_ah,
        factor * of_difference(result.budget, before, same_meter=before.same_meter),
    )
    less, clear = lost >= 0, abs(lost) > doubt
    return say(
        _CHANGES[clear, less],
        change_ah=abs(lost),
        day=before.on_date,
        doubt_ah=doubt,
        low_ah=abs(lost) - doubt,
        high_ah=abs(lost) + doubt,
    )
