"""A doubt about one reading whose current stands out among the others of its test."""

from collections.abc import Iterable

import numpy as np

from app.analysis.plausibility.questions import Alternative, Doubt, DoubtKind, Known, as_it_stands
from app.analysis.plausibility.raw_readings import RawReadings
from app.analysis.plausibility.witnesses import by_power_at
from app.domain.i18n.message import say
from app.domain.readings import ON_SHARE

# All limits here are common practice.
TENFOLD = (7.0, 14.0)
NEIGHBOURS_AGREE = 1.5
# So many times the highest other reading is far above all of them, where these are a few at least.
FAR_ABOVE, MIN_OTHERS = 3.0, 3
# One that makes up less of the charge is not worth a question.
MIN_CHARGE_SHARE = 0.05
# A slip may lie so far outside the range of the others.
NEAR_RANGE = 1.1
# A steady load of a 20-hour rate or more is run for the test; beside a smaller one, one reading
# may have caught a fridge.
STEADY, TEST_RATE = 1.5, 1 / 20


def lone_reading(test: RawReadings, known: Known) -> Iterable[Doubt]:
    """The one reading that can hardly be: a slip beside its neighbours, or far above all others."""
    slips = _among_neighbours(test)
    if len(slips) > 1:
        # Several are a load.
        return
    if slips:
        ((row, instead),) = slips
        found = say(
            "Reading {row} alone says {odd_a:.4g} A, between {before_a:.4g} A and {after_a:.4g} "
            "A: about a factor of ten.",
            row=row + 1,
            odd_a=test.amps[row],
            before_a=test.amps[row - 1],
            after_a=test.amps[row + 1],
        )
        yield _doubt(test, known, row, instead, found)
    else:
        yield from _far_above(test, known)


def _among_neighbours(test: RawReadings) -> list[tuple[int, float]]:
    """Rows of about ten times their neighbours, or a tenth, and what a slip makes of them (A)."""
    amps = test.amps
    before, here, after = amps[:-2], amps[1:-1], amps[2:]
    low, high = np.minimum(before, after), np.maximum(before, after)
    agree = (low > test.on) & (here > 0) & (high <= NEIGHBOURS_AGREE * low)
    ratio = np.divide(here, (low + high) / 2, out=np.ones_like(here), where=agree)
    size = np.maximum(ratio, 1 / ratio)
    odd = np.flatnonzero((size >= TENFOLD[0]) & (size <= TENFOLD[1]))
    return [(int(i) + 1, float(here[i]) * (0.1 if ratio[i] > 1 else 10.0)) for i in odd]


def _far_above(test: RawReadings, known: Known) -> Iterable[Doubt]:
    """One reading above all others, however the load between those goes to and fro."""
    row = int(np.argmax(test.amps))
    odd_a, others = float(test.amps[row]), np.delete(test.amps, row)
    most_a = float(others.max())
    loaded = others[others > ON_SHARE * most_a]
    if loaded.size < MIN_OTHERS or odd_a < FAR_ABOVE * most_a:
        return
    if test.charge_ah - test.charge_without(row) < MIN_CHARGE_SHARE * test.charge_ah:
        return
    low, high = float(loaded.min()) / NEAR_RANGE, most_a * NEAR_RANGE
    slipped = (odd_a * factor for factor in (0.1, 0.01, 0.001))
    instead = next((one for one in slipped if low <= one <= high), None)
    is_test_load = (
        known.rated_ah is not None
        and float(loaded.min()) >= TEST_RATE * known.rated_ah
        and most_a <= STEADY * float(loaded.min())
    )
    if instead is None and not is_test_load:
        return
    found = say(
        "Reading {row} alone says {odd_a:.4g} A; no other says more than {most_a:.4g} A.",
        row=row + 1,
        odd_a=odd_a,
        most_a=most_a,
    )
    yield _doubt(test, known, row, instead, found)


def _doubt(test: RawReadings, known: Known, row: int, instead: float | None, found: str) -> Doubt:
    other = Alternative(say("another figure"))
    if instead is not None:
        charge = test.charge_ah
        if test.counted is None:
            mended = test.amps.copy()
            mended[row] = instead
            charge = test.charge_of(mended)
        other = Alternative(say("{instead_a:.4g} A", instead_a=instead), charge, instead)
    stands, witness = float(test.amps[row]), by_power_at(row, test, known)
    return Doubt(
        DoubtKind.LONE,
        row + 1,
        stands,
        (other, as_it_stands(test.charge_ah, stands)),
        found + ("" if witness is None else " " + witness),
    )
