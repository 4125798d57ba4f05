"""What a result shows of a promised level, and what it cannot show."""

from dataclasses import dataclass, replace
from enum import StrEnum

from app.analysis.evidence.result import Result
from app.analysis.evidence.verdict import EarlierTest, chance_short, likelihood
from app.analysis.statistics.budget import of_difference
from app.domain.finding import EvidenceKind
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say
from app.domain.threshold import Threshold
from app.domain.units.rounding import rounded_down

# Decision rule: a level counts as missed or held where that is so likely. JCGM 106 (from memory)
# leaves the figure to the parties; 95 % is common practice.
SHOWN = 0.95


class PromiseOutcome(StrEnum):
    """What the evidence carries."""

    MISSED = "missed"
    HELD = "held"
    OPEN = "open"

    @property
    def label(self) -> str:
        return say(_LABELS[self])


_LABELS = {
    PromiseOutcome.MISSED: N_("shown: below the level"),
    PromiseOutcome.HELD: N_("shown: the level is held"),
    PromiseOutcome.OPEN: N_("not shown either way"),
}
_WORDS = {
    PromiseOutcome.MISSED: N_(
        "Missed: it is {likelihood} that the true capacity lies below {promised_ah:.1f} Ah."
    ),
    PromiseOutcome.HELD: N_(
        "Held: it is {likelihood} that the true capacity lies below {promised_ah:.1f} Ah."
    ),
    PromiseOutcome.OPEN: N_(
        "Not shown either way: it is {likelihood} that the true capacity lies below "
        "{promised_ah:.1f} Ah. It takes {needed:.0f} % to call it missed."
    ),
}
_OWN_WORDS = {
    PromiseOutcome.MISSED: N_(
        "Not shown either way: the result lies below the level, but at the test's own "
        "{conditions}, which Fadeline could not correct to the conditions of the label."
    ),
    PromiseOutcome.HELD: N_(
        "Not shown either way: the result lies above the level, but at the test's own "
        "{conditions}, which Fadeline could not correct to the conditions of the label."
    ),
}


@dataclass(frozen=True)
class Level:
    """A capacity that somebody counts on, in Ah, with its words.

    of is the earlier test whose share it is, None for a figure on paper, which is exact.
    """

    words: str
    ah: float
    of: EarlierTest | None = None


@dataclass(frozen=True)
class LevelShown:
    """A level against one result. probability_below is None where the test cannot say."""

    level: Level
    outcome: PromiseOutcome
    probability_below: float | None
    words: str


def threshold_level(threshold: Threshold, first: EarlierTest | None) -> Level | None:
    """The end-of-life threshold as a level; None where it is a share of a test not yet made."""
    words = say("end-of-life threshold: {threshold}", threshold=threshold.words)
    if threshold.ah is not None:
        return Level(words, threshold.ah)
    if threshold.share is None or first is None:
        return None
    return Level(words, threshold.share * first.capacity_ah, first)


def hold_against(level: Level, result: Result, own_conditions: tuple[str, ...]) -> LevelShown:
    """Hold a result against a level.

    own_conditions name what nothing corrects (see deviation): a level meant for the label's
    conditions is then neither missed nor held by this result.
    """
    if result.kind is EvidenceKind.UNUSABLE:
        return LevelShown(
            level, PromiseOutcome.OPEN, None, say("Not shown either way: this test proves nothing.")
        )
    below = _chance_below(level, result)
    outcome = PromiseOutcome.OPEN
    if below >= SHOWN and result.kind is EvidenceKind.MEASURED:
        outcome = PromiseOutcome.MISSED
    elif below <= 1 - SHOWN and (
        result.kind is EvidenceKind.MEASURED or result.lower_ah >= level.ah
    ):
        outcome = PromiseOutcome.HELD
    if outcome is not PromiseOutcome.OPEN and own_conditions:
        return LevelShown(level, PromiseOutcome.OPEN, None, _own_words(outcome, own_conditions))
    if result.kind is EvidenceKind.AT_LEAST:
        known = below if outcome is PromiseOutcome.HELD else None
        return LevelShown(level, outcome, known, _bound_words(level, result, outcome))
    return LevelShown(level, outcome, below, _words(level, outcome, below))


def _chance_below(level: Level, result: Result) -> float:
    budget, first = result.budget, level.of
    doubt = budget.standard_ah
    if first is not None:
        share = level.ah / first.capacity_ah
        of_level = replace(
            first,
            standard_ah=share * first.standard_ah,
            independent_ah=share * first.independent_ah,
            rate_ah=share * first.rate_ah,
        )
        doubt = of_difference(budget, of_level, same_meter=first.same_meter)
    return chance_short(level.ah - result.capacity_ah, doubt, budget.degrees_of_freedom)


def _own_words(outcome: PromiseOutcome, own_conditions: tuple[str, ...]) -> str:
    joining = joined(" ", ("", say("and"), ""))
    return say(_OWN_WORDS[outcome], conditions=joined(joining, own_conditions))


def _bound_words(level: Level, result: Result, outcome: PromiseOutcome) -> str:
    bound_ah = rounded_down(result.lower_ah)
    if outcome is PromiseOutcome.HELD:
        return say(
            "Held: the lower bound of {bound_ah:.1f} Ah alone lies above {promised_ah:.1f} Ah.",
            bound_ah=bound_ah,
            promised_ah=level.ah,
        )
    return say(
        "Not shown either way: at least {bound_ah:.1f} Ah were there, how much more is not "
        "known. A lower bound below a promised level proves nothing about a claim.",
        bound_ah=bound_ah,
    )


def _words(level: Level, outcome: PromiseOutcome, below: float) -> str:
    return say(
        _WORDS[outcome], likelihood=likelihood(below), promised_ah=level.ah, needed=SHOWN * 100
    )
