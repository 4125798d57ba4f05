"""A look at a result that was noted without readings, before it is stored."""

from collections.abc import Iterable

import numpy as np

from app.analysis.counting.noted_charge import NotedCharge, noted_charge
from app.analysis.evidence.unusable import MAX_OF_RATED
from app.analysis.plausibility.lone_reading import TENFOLD
from app.analysis.plausibility.plausibility import most_usual_a, possible_volts
from app.analysis.plausibility.plausible_moment import far_start, same_day
from app.analysis.plausibility.questions import Alternative, Doubt, DoubtKind, Known, as_it_stands
from app.domain.entities.discharge import DischargeDetails
from app.domain.errors import InvalidInput
from app.domain.i18n.amounts import charge_said
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say

# Charge over hours, and what the load is said to have drawn: so far apart both cannot be (common
# practice).
APART = 1.25
# Of the rated capacity: less is no result that a slip is likely to have hidden.
MIN_OFFERED_SHARE = 0.2
# What a result is to be multiplied by where its point or its unit slipped.
SLIPS = (
    (1 / 10, N_("a tenth of it")),
    (1 / 100, N_("a hundredth of it")),
    (1 / 1000, N_("the result is in mAh")),
    (10.0, N_("ten times as much")),
)


def doubts_about_result(test: DischargeDetails, known: Known) -> tuple[Doubt, ...]:
    """Everything about a noted result that can hardly be; nothing for one that is none at all."""
    try:
        noted = noted_charge(test)
    except InvalidInput:
        return ()
    return (
        *_capacity(noted, known),
        *_current(noted, known),
        *_hours(test, noted),
        *_voltage(noted, known),
        *far_start(known),
        *same_day(test.started_local, noted.charge_ah, known),
    )


def _capacity(noted: NotedCharge, known: Known) -> Iterable[Doubt]:
    """More than such a battery gives, or a tenth of what its other tests gave, else its label."""
    charge, rated = noted.charge_ah, known.rated_ah
    if rated is None:
        return
    other = tuple(
        Alternative(say(words), charge * factor, charge * factor)
        for factor, words in SLIPS
        if MIN_OFFERED_SHARE * rated <= charge * factor <= MAX_OF_RATED * rated
    )
    if charge > MAX_OF_RATED * rated:
        found = say(
            "The test comes to {charge}, {times:.2g} times the rated "
            "{rated_ah:g} Ah; up to {most:g} times is possible.",
            charge=charge_said(charge),
            times=charge / rated,
            rated_ah=rated,
            most=MAX_OF_RATED,
        )
    elif other and _is_a_tenth(charge, known, rated):
        # The same words whatever is stored later: an answer to them stays one.
        found = say(
            "The test comes to {charge}, about a tenth of what was to be expected.",
            charge=charge_said(charge),
        )
    else:
        return
    yield Doubt(DoubtKind.CAPACITY, None, charge, (*other, as_it_stands(charge, charge)), found)


def _is_a_tenth(charge_ah: float, known: Known, rated_ah: float) -> bool:
    usual_ah = [one.drawn_ah for one in known.others if one.drawn_ah] or [rated_ah]
    return TENFOLD[0] <= float(np.median(usual_ah)) / charge_ah <= TENFOLD[1]


def _current(noted: NotedCharge, known: Known) -> Iterable[Doubt]:
    most_a, mean_a = most_usual_a(known), noted.mean_current_a
    if mean_a is None or mean_a <= most_a:
        return
    yield Doubt(
        DoubtKind.CURRENT,
        None,
        mean_a,
        (Alternative(say("other hours, or another load")), as_it_stands(None, mean_a)),
        say(
            "The load is {usual_a:.4g} A; up to {most_a:.4g} A is usual for such a battery.",
            usual_a=mean_a,
            most_a=most_a,
        ),
    )


def _hours(test: DischargeDetails, noted: NotedCharge) -> Iterable[Doubt]:
    """Hours and load that do not come to what was counted."""
    if test.duration_h is None or test.mean_current_a is None:
        return
    drawn_ah = test.duration_h * test.mean_current_a
    if max(drawn_ah, noted.charge_ah) <= APART * min(drawn_ah, noted.charge_ah):
        return
    yield Doubt(
        DoubtKind.COUNTER,
        None,
        drawn_ah,
        (
            Alternative(say("other hours, or another load")),
            as_it_stands(noted.charge_ah, noted.charge_ah),
        ),
        say(
            "{current_a:g} A for {hours:g} h would be {drawn}, and the result says {counted}.",
            current_a=test.mean_current_a,
            hours=test.duration_h,
            drawn=charge_said(drawn_ah),
            counted=charge_said(noted.charge_ah),
        ),
    )


def _voltage(noted: NotedCharge, known: Known) -> Iterable[Doubt]:
    """A voltage that no such battery has: the last one, or the mean one of the energy."""
    mean_v = None if noted.energy_wh is None else noted.energy_wh / noted.charge_ah
    for value, found in (
        (noted.last_voltage_v, say("The last voltage")),
        (mean_v, say("The mean voltage")),
    ):
        if value is None:
            continue
        low, high = possible_volts(known, np.array([value]))
        if not low <= value <= high:
            yield Doubt(
                DoubtKind.VOLTAGE,
                None,
                value,
                (Alternative(say("another figure")), as_it_stands(noted.charge_ah, value)),
                say(
                    "{which} is {volts:.4g} V; {low:.4g} to {high:.4g} V is possible under load.",
                    which=found,
                    volts=value,
                    low=low,
                    high=high,
                ),
            )
            return
