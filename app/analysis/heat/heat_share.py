"""Is the heat to blame: what time, temperature and use would explain of a loss, and what is left.

The expected loss is a distribution, not a number: the state of charge it stood at is known only
roughly, and published types of cell differ. It is set against the observed loss with its own
uncertainty.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from app.analysis.ageing.exposure import Exposure
from app.analysis.ageing.loss_models import (
    CALENDAR_FROM_C,
    CALENDAR_TO_C,
    TYPE_SPREAD,
    calendar_losses,
    cycle_loss_percent,
)
from app.analysis.evidence.promised_capacity import SHOWN
from app.analysis.evidence.verdict import likelihood
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.coverage import HIGH, LOW, MIDDLE
from app.analysis.statistics.distributions import normal_quantiles, student_probabilities
from app.domain.finding import Finding
from app.domain.i18n.message import Celsius, CelsiusRange, say

CHARGES, QUANTILES = 5, 21
OUTSIDE_SHARE = 0.05


class Attribution(StrEnum):
    """How the observed loss stands to the expected one.

    UNSURE: more or less by the models as they are, but not where the heat beyond their range is
    taken to be at the range's edge.
    """

    MORE = "more"
    LESS = "less"
    FITS = "fits"
    UNSURE = "unsure"


@dataclass(frozen=True)
class Stress:
    """What a battery lived through in a stretch of time.

    exposure is its time at temperature, throughput_ah what was drawn, low_charge and high_charge
    (0 to 1) between which it stood while it waited.
    """

    exposure: Exposure
    throughput_ah: float = 0.0
    low_charge: float = 0.5
    high_charge: float = 1.0


@dataclass(frozen=True)
class ExpectedLoss:
    """Loss between two moments in % of the new capacity: 5, 50 and 95 % of cells of this kind.

    calendar and cycling are the middle figures of each part.
    """

    low: float
    middle: float
    high: float
    calendar: float
    cycling: float
    caveats: tuple[Finding, ...]


@dataclass(frozen=True)
class LossBelief:
    """An expected loss with equally likely losses behind it, in order."""

    loss: ExpectedLoss
    samples: Floats


@dataclass(frozen=True)
class HeatShare:
    """The observed loss against the expected one. probability_more: that it is larger."""

    expected: ExpectedLoss
    observed_percent: float
    observed_standard: float
    probability_more: float
    blame: Attribution
    words: str


def expected_loss(before: Stress, during: Stress, capacity_ah: float) -> LossBelief:
    """What time, heat and use take during a stretch that follows another.

    before is the life up to the first test: losses slow down with age, so that what came before
    matters. Calendar and cycling parts are added (common practice).
    """
    charges = np.linspace(during.low_charge, during.high_charge, CHARGES)
    calendar = calendar_losses(before.exposure, during.exposure, charges.tolist())
    cycling = _cycling(before, during, capacity_ah)
    spread = np.exp(TYPE_SPREAD * normal_quantiles((np.arange(QUANTILES) + 0.5) / QUANTILES))
    # Independent doubts: every pair of the type's factors, that of time and that of use.
    parts = calendar.reshape(-1, 1, 1) * spread[:, None] + cycling * spread
    samples = np.sort(parts, axis=None)
    # They are in order: the quantiles need no search.
    low, middle, high = (float(samples[int(share * len(samples))]) for share in (LOW, MIDDLE, HIGH))
    loss = ExpectedLoss(low, middle, high, float(np.median(calendar)), cycling, _reach(during))
    return LossBelief(loss, samples)


def _cycling(before: Stress, during: Stress, capacity_ah: float) -> float:
    if during.throughput_ah <= 0:
        return 0.0
    warm = during.exposure.mean_c
    whole = before.throughput_ah + during.throughput_ah
    return cycle_loss_percent(whole, capacity_ah, warm) - cycle_loss_percent(
        before.throughput_ah, capacity_ah, warm
    )


def _reach(during: Stress) -> tuple[Finding, ...]:
    """Where the published models do not reach."""
    found = [
        Finding(
            "other_cells",
            say(
                "The published models are of one type of cell each; yours may differ, which the "
                "wide band allows for."
            ),
            minor=True,
        )
    ]
    outside = during.exposure.share_outside(CALENDAR_FROM_C, CALENDAR_TO_C)
    if outside > OUTSIDE_SHARE:
        found.append(
            Finding(
                "outside_model",
                say(
                    "{percent:.0f} % of its time was outside {range:.0f}, where the models were "
                    "made: colder it ages no faster than at their edge, hotter it is a guess.",
                    percent=outside * 100,
                    range=CelsiusRange(CALENDAR_FROM_C, CALENDAR_TO_C),
                ),
            )
        )
    return tuple(found)


def heat_share(
    expected: LossBelief,
    at_edges: LossBelief,
    observed_percent: float,
    observed_standard: float,
    freedom: float,
    *,
    cold_alone: bool = False,
) -> HeatShare:
    """Set the observed loss (% of new, with its standard uncertainty) against the expected one.

    at_edges is the loss that is expected where the time outside of the models' range counts as
    time at its edge: what is not known of the models there must not decide. cold_alone says that
    hardly any heat lies outside: where at_edges expects more, that is the most that can be
    expected, which bounds the answer. freedom is the degrees of freedom of the observed loss
    (Student's t).
    """
    more, at_edge = (
        _chance_more(belief, observed_percent, observed_standard, freedom)
        for belief in (expected, at_edges)
    )
    blame, bounded = _blame(more), False
    if _blame(at_edge) is not blame:
        bounded = cold_alone and at_edge < more
        blame = Attribution.FITS if bounded or blame is Attribution.FITS else Attribution.UNSURE
    least = min(more, at_edge) if blame is Attribution.MORE else 1 - max(more, at_edge)
    words = _bounded_words() if bounded else _words(blame, least)
    return HeatShare(expected.loss, observed_percent, observed_standard, more, blame, words)


def _bounded_words() -> str:
    return say(
        "The loss is no more than time, heat and use would explain of a battery that was never "
        "colder than {edge:.0f}. In the cold it ages no faster; how much slower is not known.",
        edge=Celsius(CALENDAR_FROM_C),
    )


def _chance_more(
    belief: LossBelief, observed_percent: float, observed_standard: float, freedom: float
) -> float:
    if observed_standard > 0:
        chances = student_probabilities(
            freedom, (observed_percent - belief.samples) / observed_standard
        )
    else:
        chances = (belief.samples < observed_percent).astype(np.float64)
    return float(np.mean(chances))


def _blame(more: float) -> Attribution:
    return (
        Attribution.MORE
        if more > SHOWN
        else Attribution.LESS
        if more < 1 - SHOWN
        else Attribution.FITS
    )


def _words(blame: Attribution, sure: float) -> str:
    if blame is Attribution.MORE:
        return say(
            "Not the heat alone: the loss is more than time, heat and use would explain "
            "({likelihood}). Look for another cause.",
            likelihood=likelihood(sure),
        )
    if blame is Attribution.LESS:
        return say(
            "No sign of it: the battery lost less than time, heat and use would explain "
            "({likelihood}).",
            likelihood=likelihood(sure),
        )
    if blame is Attribution.UNSURE:
        return say("Cannot be told: too much of the time was hotter than the models cover.")
    return say("Time, heat and use explain the loss, as far as tests and models can tell.")
