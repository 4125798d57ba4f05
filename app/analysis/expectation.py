"""What the label lets one expect of a discharge, and how the test stands against it."""

from dataclasses import dataclass

from scipy.special import stdtr

from app.analysis.budget import Budget
from app.domain.finding import Kind


@dataclass(frozen=True)
class Expectation:
    """Run time and remaining charge that the rated capacity promises at a steady current."""

    rated_ah: float
    reserve_share: float
    mean_current_a: float

    @property
    def usable_ah(self) -> float:
        return self.rated_ah * (1 - self.reserve_share)

    @property
    def run_time_h(self) -> float:
        """Hours until only the reserve is left."""
        return self.usable_ah / self.mean_current_a

    @property
    def run_time_to_empty_h(self) -> float:
        return self.rated_ah / self.mean_current_a

    def remaining_ah(self, hours: float) -> float:
        return self.rated_ah - self.mean_current_a * hours


@dataclass(frozen=True)
class Verdict:
    """A comparison with a reference, in words.

    probability_below is the chance that the true value lies below the reference; None where the
    test cannot say.
    """

    against: str
    against_ah: float
    share: float
    probability_below: float | None
    words: str


def probability_below(value: float, reference: float, budget: Budget) -> float:
    """Chance that the true value behind a measured one lies below the reference (Student's t)."""
    if budget.standard_ah == 0:
        return 0.5 if value == reference else float(value < reference)
    freedom = budget.degrees_of_freedom
    distance = (reference - value) / budget.standard_ah
    return float(stdtr(1e9 if freedom is None else freedom, distance))


def verdict(
    kind: Kind, capacity_ah: float, budget: Budget, against: str, against_ah: float
) -> Verdict:
    """Compare a result with a reference capacity (both in Ah)."""
    share = capacity_ah / against_ah
    if kind is Kind.UNUSABLE:
        return Verdict(against, against_ah, share, None, "This test cannot be compared.")
    below = probability_below(capacity_ah, against_ah, budget)
    if kind is Kind.MEASURED:
        return Verdict(against, against_ah, share, below, f"{likelihood(below)} below {against}")
    if below < 0.05:
        words = f"at least {against}: the bound alone lies above it"
        return Verdict(against, against_ah, share, below, words)
    words = (
        f"cannot be told: at least {share * 100:.0f} % of {against} was there, perhaps all of it"
    )
    return Verdict(against, against_ah, share, None, words)


def likelihood(probability: float) -> str:
    """A probability in words that never say certain."""
    if probability > 0.995:
        return "more than 99 % likely"
    if probability < 0.005:
        return "less than 1 % likely"
    return f"{probability * 100:.0f} % likely"
