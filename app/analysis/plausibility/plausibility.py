"""A look at a result before it is stored: what can hardly be, and what each reading would give.

Nothing here judges the battery. A doubt is a question to who typed or logged: the value, what it
could be instead, and the amp-hours of each.
"""

from collections.abc import Iterable

import numpy as np

from app.analysis.evidence.unusable import MAX_OF_RATED
from app.analysis.plausibility.lone_reading import TENFOLD, lone_reading
from app.analysis.plausibility.plausible_moment import far_start, overlap
from app.analysis.plausibility.questions import (
    FACTORS,
    Alternative,
    Doubt,
    DoubtKind,
    Known,
    as_it_stands,
)
from app.analysis.plausibility.raw_readings import RawReadings, examined
from app.analysis.plausibility.witnesses import other_columns
from app.analysis.statistics.arrays import Floats
from app.domain.chemistry import Chemistry
from app.domain.i18n.amounts import charge_said
from app.domain.i18n.message import say
from app.domain.readings import Readings

# All limits here are common practice.
LEAST_OF_RATED = 0.05
# Discharge currents as shares of the rated capacity per hour that are usual for a house battery.
USUAL_RATE = {
    Chemistry.LFP: 2.0,
    Chemistry.LITHIUM_ION: 3.0,
    Chemistry.FLOODED: 1.0,
    Chemistry.AGM: 1.0,
    Chemistry.GEL: 1.0,
}
ANY_RATE = 5.0
MAX_A = 1000.0
# One cell under load, from past empty to the end of a charge.
CELL_V = {
    Chemistry.LFP: (1.9, 3.8),
    Chemistry.LITHIUM_ION: (2.0, 4.4),
    Chemistry.FLOODED: (1.4, 2.8),
    Chemistry.AGM: (1.4, 2.8),
    Chemistry.GEL: (1.4, 2.8),
}
# Where nobody says which cells: shares of the middle one of all voltages.
_LOW_SHARE, _HIGH_SHARE = 0.5, 1.5


def doubts_about(readings: Readings, known: Known) -> tuple[Doubt, ...]:
    """Everything about a test that can hardly be; nothing for one that is no discharge at all."""
    test = examined(readings, known.cut_off_v, known.ended_after_s)
    if test is None:
        return ()
    lone = tuple(lone_reading(test, known))
    # One reading that explains too much of a capacity is asked about instead of it.
    load = () if any(_explains(one, test, known) for one in lone) else (_capacity, _current, _load)
    asked = (tuple(ask(test, known)) for ask in load)
    return (
        *next((found for found in asked if found), ()),
        *_voltage(test, known),
        *lone,
        *other_columns(readings, test, known),
        *far_start(known),
        *overlap(float(test.time_s[-1]), known),
    )


def _explains(lone: Doubt, test: RawReadings, known: Known) -> bool:
    """Whether what the other readings come to is possible."""
    charge = test.charge_without((lone.row or 1) - 1)
    return charge <= MAX_OF_RATED * (known.rated_ah or charge)


def _scaled(charge_ah: float, value: float, fits: Iterable[float]) -> tuple[Alternative, ...]:
    """The factors under which a charge is possible, and the charge as it stands."""
    wanted = set(fits)
    other = [
        Alternative(say(words), charge_ah * factor, value * factor)
        for factor, words in FACTORS
        if factor in wanted
    ]
    return (*other, as_it_stands(charge_ah, value))


def _possible(charge_ah: float, known: Known) -> list[float]:
    """Factors that make of a charge one that the battery can give."""
    rated = known.rated_ah
    return [
        factor
        for factor, _ in FACTORS
        if rated is None or LEAST_OF_RATED <= charge_ah * factor / rated <= MAX_OF_RATED
    ]


def _capacity(test: RawReadings, known: Known) -> Iterable[Doubt]:
    charge, rated = test.charge_ah, known.rated_ah
    if rated is None or charge <= MAX_OF_RATED * rated:
        return
    yield Doubt(
        DoubtKind.CAPACITY,
        None,
        charge,
        _scaled(charge, charge, _possible(charge, known)),
        say(
            "The test comes to {charge}, {times:.2g} times the rated "
            "{rated_ah:g} Ah; up to {most:g} times is possible.",
            charge=charge_said(charge),
            times=charge / rated,
            rated_ah=rated,
            most=MAX_OF_RATED,
        ),
    )


def most_usual_a(known: Known) -> float:
    """The highest current that is usual for such a battery, in A."""
    rate = ANY_RATE if known.chemistry is None else USUAL_RATE[known.chemistry]
    return MAX_A if known.rated_ah is None else rate * known.rated_ah


def possible_volts(known: Known, volts: Floats) -> tuple[float, float]:
    """Between which voltages (V) such a battery stays under load; volts are those read there."""
    if known.chemistry is not None and known.nominal_v is not None:
        cells = known.chemistry.cells_in_series(known.nominal_v)
        low, high = CELL_V[known.chemistry]
        return cells * low, cells * high
    middle = float(np.median(volts))
    return _LOW_SHARE * middle, _HIGH_SHARE * middle


def other_volts(value: float, low: float, high: float) -> list[float]:
    """The voltages from low to high that a slip of the decimal point makes of a value (V)."""
    slipped = (value * factor for factor in (0.1, 0.01, 0.001, 10.0, 100.0))
    return [one for one in slipped if low <= one <= high]


def _current(test: RawReadings, known: Known) -> Iterable[Doubt]:
    most = most_usual_a(known)
    usual, charge = test.usual_a, test.charge_ah
    if usual <= most:
        return
    fits = [f for f in _possible(charge, known) if f in (1 / 1000, 1 / 10) and usual * f <= most]
    yield Doubt(
        DoubtKind.CURRENT,
        None,
        usual,
        _scaled(charge, usual, fits),
        say(
            "The load is {usual_a:.4g} A; up to {most_a:.4g} A is usual for such a battery.",
            usual_a=usual,
            most_a=most,
        ),
    )


def _voltage(test: RawReadings, known: Known) -> Iterable[Doubt]:
    """The first voltage under load that no such battery has, or all of them."""
    loaded = np.isfinite(test.volts) & (test.amps > test.on)
    if not loaded.any():
        return
    volts = test.volts[loaded]
    low, high = possible_volts(known, volts)
    out = np.flatnonzero(loaded & ((test.volts < low) | (test.volts > high)))
    if not out.size:
        return
    row, value = int(out[0]), float(test.volts[out[0]])
    other = [
        Alternative(say("{volts:.4g} V", volts=one), value=one)
        for one in other_volts(value, low, high)
    ]
    found = say(
        "Reading {row} says {volt:.4g} V; {low:.4g} to {high:.4g} V is possible under load.",
        row=row + 1,
        volt=value,
        low=low,
        high=high,
    )
    if out.size > 1:
        found += " " + say("The same is true of {count} readings in all.", count=out.size)
    yield Doubt(DoubtKind.VOLTAGE, row + 1, value, (*other, as_it_stands(None, value)), found)


def _load(test: RawReadings, known: Known) -> Iterable[Doubt]:
    """A load tenfold that of the test before it, or a tenth of it."""
    start = known.started_at
    before = [
        (one.name, one.mean_current_a)
        for one in known.others
        if one.mean_current_a and (start is None or one.started_at < start)
    ]
    if not before:
        return
    (name, last_a), usual, charge = before[-1], test.usual_a, test.charge_ah
    ratio = usual / last_a
    if 1 / TENFOLD[0] < ratio < TENFOLD[0]:
        return
    fits = [
        factor
        for factor in _possible(charge, known)
        if factor in (1 / 1000, 1 / 10, 10.0, 1000.0) and 1 / 3 < ratio * factor < 3
    ]
    yield Doubt(
        DoubtKind.LOAD,
        None,
        usual,
        _scaled(charge, usual, fits),
        say(
            "The load is {usual_a:.4g} A; it was {last_a:.4g} A in {other}.",
            usual_a=usual,
            last_a=last_a,
            other=name,
        ),
    )
