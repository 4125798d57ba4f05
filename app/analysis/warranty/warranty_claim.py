"""Whether the evidence carries a claim under the warranty today, and what would."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from app.analysis.evidence.promised_capacity import SHOWN
from app.analysis.evidence.result import Result
from app.analysis.evidence.verdict import NORMAL_FREEDOM, likelihood, probability_below
from app.analysis.fade.fade import Fade
from app.analysis.statistics.distributions import student_probability, student_quantile
from app.analysis.test_day.plan import expected_uncertainty
from app.analysis.warranty.claim_objections import (
    FLATTERING,
    MAX_FLATTERED,
    objections,
    rated_current_a,
)
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import Discharge
from app.domain.entities.meter import Meter, MeterDetails, MeterKind, typical
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.units.rounding import rounded_down

# Guarded: a claim is carried where the true value lies below the promise with this probability
# (JCGM 106:2012, 8.3.3, guarded rejection; ILAC-G8:09/2019 calls it non-binary with a guard band).
CARRIES = SHOWN
HALF_HOUR = 0.5
CALIBRATED = N_("a calibrated meter of class 0.5")


class ClaimState(StrEnum):
    """What the evidence does for a claim."""

    NO_TERMS = "no_terms"
    NO_TEST = "no_test"
    BOUND_ONLY = "bound_only"
    REFUTED = "refuted"
    AGAINST = "against"
    FLATTERED = "flattered"
    OPEN = "open"
    OBJECTIONS = "objections"
    CARRIED = "carried"


_JUDGED_WORDS = {
    ClaimState.CARRIED: N_(
        "Yes, as far as a test can: the true capacity is {likelihood} below the promised "
        "{promised_ah:.0f} Ah. The test of {day} shows it."
    ),
    ClaimState.OBJECTIONS: N_(
        "Not safely: the true capacity is {likelihood} below the promised {promised_ah:.0f} Ah, "
        "but the maker could object to how the test was done."
    ),
    ClaimState.FLATTERED: N_(
        "Not shown: by its value alone the capacity is {likelihood} below the promised "
        "{promised_ah:.0f} Ah, but the test was kinder to the battery than the promise’s own "
        "conditions."
    ),
    ClaimState.AGAINST: N_(
        "No: the true capacity is {likelihood} below the promised {promised_ah:.0f} Ah. The test "
        "of {day} speaks against a claim."
    ),
    ClaimState.OPEN: N_(
        "Not yet: the true capacity is {likelihood} below the promised {promised_ah:.0f} Ah. A "
        "claim needs {needed:.0f} %."
    ),
}


@dataclass(frozen=True)
class BetterTest:
    """What a further test would have to show: at most most_ah, with such an uncertainty (95 %)."""

    meter: str
    current_a: float
    most_ah: float
    expanded_ah: float


@dataclass(frozen=True)
class Claim:
    """The promise in Ah, and the newest test that speaks to it.

    probability_below is from that test alone, line_below from the line through all tests on the
    day asked; None where there is none. needed_expanded_ah is how small the test's uncertainty
    would have to be for the same value to carry the claim; None where no meter would help. held_ah
    is the lower bound that refutes it.
    """

    state: ClaimState
    words: str
    promised_ah: float | None
    tested_on: date | None
    capacity_ah: float | None
    expanded_ah: float | None
    probability_below: float | None
    line_below: float | None
    objections: tuple[Finding, ...]
    better: tuple[BetterTest, ...]
    needed_expanded_ah: float | None
    level: float = CARRIES
    held_ah: float | None = None


Tested = tuple[Discharge, Result, Meter | None]


def claim(about: BatteryDetails, tests: Sequence[Tested], fade: Fade, as_of: date) -> Claim:
    """Judge the claim that the battery holds less than its warranty promises.

    Decided by the newest test that counts and measured, or by a newer lower bound above the
    promise; tests after the warranty's last day say nothing of it.
    """
    share = about.warranty.share
    if share is None:
        words = say("Enter the share of the rated capacity that the warranty promises.")
        return _nothing(ClaimState.NO_TERMS, words, None, ())
    promised = share * about.rated_ah
    better = better_tests(about, promised, tests)
    counts = _within_term(about, tests)
    bounds = [one for one in counts if one[1].kind is EvidenceKind.AT_LEAST]
    measured = [one for one in counts if one[1].kind is EvidenceKind.MEASURED]
    newest_bound = bounds[-1] if bounds else None
    if newest_bound and newest_bound[1].lower_ah >= promised:
        newer = not measured or _start(newest_bound) > _start(measured[-1])
        flattered = _flattered(_objections(about, newest_bound))
        if newer and (not flattered or newest_bound[1].lower_ah >= promised * MAX_FLATTERED):
            return _refuted(newest_bound, promised, better)
    if not measured:
        if newest_bound is None:
            words = say("No test has measured the capacity in time, and nothing else is evidence.")
            return _nothing(ClaimState.NO_TEST, words, promised, better)
        bound = rounded_down(newest_bound[1].lower_ah, 0)
        words = say(
            "Plan a test down to empty: the newest result is at least {bound_ah:.0f} Ah, and a "
            "lower bound can refute a claim, but never carry one.",
            bound_ah=bound,
        )
        return _nothing(ClaimState.BOUND_ONLY, words, promised, better)
    return _judged(about, measured[-1], promised, better, _line_below(fade, promised, as_of))


def _within_term(about: BatteryDetails, tests: Sequence[Tested]) -> list[Tested]:
    """The tests that count and were begun before the warranty ended, in order."""
    end = about.warranty.ends_on
    kept = [one for one in tests if not one[0].details.left_out_reason]
    if end is not None:
        kept = [one for one in kept if one[0].details.started_local.date() <= end]
    return sorted(kept, key=_start)


def _judged(
    about: BatteryDetails,
    newest: Tested,
    promised: float,
    better: tuple[BetterTest, ...],
    line_below: float | None,
) -> Claim:
    test, result, _ = newest
    below = probability_below(result.capacity_ah, promised, result.budget)
    found = _objections(about, newest)
    blocked = any(not one.minor for one in found)
    if below >= CARRIES:
        state = ClaimState.OBJECTIONS if blocked else ClaimState.CARRIED
    elif below <= 1 - CARRIES:
        unkind = probability_below(result.capacity_ah / MAX_FLATTERED, promised, result.budget)
        open_still = _flattered(found) and unkind > 1 - CARRIES
        state = ClaimState.FLATTERED if open_still else ClaimState.AGAINST
    else:
        state = ClaimState.OPEN
    day = test.details.started_local.date()
    factor = _one_sided(result.budget.degrees_of_freedom)
    gap = promised - result.capacity_ah
    needed = gap / factor * result.budget.coverage_factor if gap > 0 else None
    return Claim(
        state=state,
        words=_words(state, below, promised, day),
        promised_ah=promised,
        tested_on=day,
        capacity_ah=result.capacity_ah,
        expanded_ah=result.budget.expanded_ah,
        probability_below=below,
        line_below=line_below,
        objections=found,
        better=better,
        needed_expanded_ah=needed,
    )


def _objections(about: BatteryDetails, tested: Tested) -> tuple[Finding, ...]:
    test, result, meter = tested
    return objections(test.details, result, about, None if meter is None else meter.details)


def _flattered(found: tuple[Finding, ...]) -> bool:
    return any(one.code in FLATTERING for one in found)


def _words(state: ClaimState, below: float, promised: float, day: date) -> str:
    return say(
        _JUDGED_WORDS[state],
        likelihood=likelihood(below),
        promised_ah=promised,
        day=day,
        needed=CARRIES * 100,
    )


def most_to_carry(
    promised: float, relative: float, level: float = CARRIES, freedom: float = NORMAL_FREEDOM
) -> float:
    """The highest result that shows a true value below the promise with that probability.

    relative is the test's standard uncertainty as a share of its result: promised / (1 + t u).
    """
    return promised / (1 + student_quantile(freedom, level) * relative)


def better_tests(
    about: BatteryDetails, promised: float, tests: Sequence[Tested]
) -> tuple[BetterTest, ...]:
    """A test as the promise means it, with the meter used last and with a calibrated one."""
    used = next((one[2] for one in reversed(tests) if one[2] is not None), None)
    own = typical(MeterKind.SHUNT) if used is None else used.details
    calibrated = typical(MeterKind.LABORATORY)
    current = rated_current_a(about)
    meters = (own,) if own.kind is MeterKind.LABORATORY else (own, calibrated)
    named = (
        say("your meter, “{name}”", name=own.name) if used else say("a typical shunt"),
        say(CALIBRATED),
    )
    return tuple(
        _better(promised, current, meter, name) for meter, name in zip(meters, named, strict=False)
    )


def _better(promised: float, current_a: float, meter: MeterDetails, name: str) -> BetterTest:
    budget = expected_uncertainty(promised, current_a, meter, HALF_HOUR)
    relative = budget.standard_ah / promised
    freedom = budget.degrees_of_freedom or NORMAL_FREEDOM
    # Rounded up, it would ask for less than the rule does.
    most = rounded_down(most_to_carry(promised, relative, freedom=freedom))
    return BetterTest(name, current_a, most, budget.expanded_ah * most / promised)


def _line_below(fade: Fade, promised: float, as_of: date) -> float | None:
    """The chance by the line through all tests, on a day; its own error is Student's."""
    if fade.line is None:
        return None
    x = as_of.toordinal() - fade.first_day
    error = fade.line.se_at(x)
    if error == 0:
        return None
    freedom = fade.line.degrees_of_freedom or NORMAL_FREEDOM
    return student_probability(freedom, (promised - fade.line.at(x)) / error)


def _refuted(bound: Tested, promised: float, better: tuple[BetterTest, ...]) -> Claim:
    test, result, _ = bound
    day = test.details.started_local.date()
    held = rounded_down(result.lower_ah, 0)
    words = say(
        "No: on {day} it still held at least {held_ah:.0f} Ah, no less than "
        "the promised {promised_ah:.0f} Ah. What it lost since, only a new test can tell.",
        day=day,
        held_ah=held,
        promised_ah=promised,
    )
    made = _nothing(ClaimState.REFUTED, words, promised, better)
    return Claim(**{**vars(made), "tested_on": day, "held_ah": result.lower_ah})


def _nothing(
    state: ClaimState, words: str, promised: float | None, better: tuple[BetterTest, ...]
) -> Claim:
    return Claim(state, words, promised, None, None, None, None, None, (), better, None)


def _one_sided(freedom: int | None) -> float:
    return student_quantile(math.inf if freedom is None else freedom, CARRIES)


def _start(tested: Tested) -> float:
    return tested[0].details.started_at.timestamp()
