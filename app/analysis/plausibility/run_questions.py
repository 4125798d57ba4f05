"""What can hardly be about single readings of a running test, each asked about at itself.

A test goes on without answers. What its owner meant is not asked again, nor is what is about the
same: a load that is meant stays meant while it falls with the voltage.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.counting.run_columns import RunColumns
from app.analysis.plausibility.lone_reading import NEIGHBOURS_AGREE, TENFOLD
from app.analysis.plausibility.plausibility import most_usual_a, other_volts, possible_volts
from app.analysis.plausibility.questions import Alternative, Doubt, DoubtKind, Known, as_it_stands
from app.analysis.statistics.arrays import Floats
from app.domain.entities.battery import BatteryDetails
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.readings import ON_SHARE

# So far from a value that was meant another one is the same load, or the same battery.
ABOUT_THE_SAME = 1.5
# More readings than this that stand tenfold among their neighbours are a load that goes to and fro.
MAX_LONE = 2
# A test below this share of the rated capacity per hour is none (C/100, common practice).
LEAST_RATE = 0.01

# A device that sends another unit is wrong in every reading: the newest of them are enough.
MAX_TOLD = 200
# The values of a reading that are looked at.
CURRENT, VOLTAGE = "current_a", "voltage_v"


@dataclass(frozen=True)
class ReadingQuestion:
    """A doubt about one reading; its row counts the readings that are not struck."""

    reading_id: int
    doubt: Doubt

    @property
    def field(self) -> str:
        """The value of the reading that is doubted."""
        return VOLTAGE if self.doubt.kind is DoubtKind.VOLTAGE else CURRENT


def asked_together(
    questions: Sequence[ReadingQuestion],
) -> tuple[tuple[ReadingQuestion, ...], ...]:
    """The questions in groups that can be answered as one.

    Those of readings that raise nothing but the same question about the same value are a group; all
    questions of any other reading are one.
    """
    of_reading: dict[int, tuple[ReadingQuestion, ...]] = {}
    for one in questions:
        of_reading[one.reading_id] = (*of_reading.get(one.reading_id, ()), one)
    groups: dict[object, tuple[ReadingQuestion, ...]] = {}
    for number, own in of_reading.items():
        doubt = own[0].doubt
        key = number if len(own) > 1 else (doubt.kind, doubt.value, doubt.finding)
        groups[key] = (*groups.get(key, ()), *own)
    return tuple(groups.values())


def questions_about(readings: RunColumns, about: BatteryDetails) -> tuple[ReadingQuestion, ...]:
    """What can hardly be and nobody answered yet.

    Of one kind the newest MAX_TOLD at the most.
    """
    counting = readings.counting
    if not len(counting):
        return ()
    known = Known(about.rated_ah, about.chemistry, about.nominal_v)
    signed, volts, meant = counting.current_a, counting.voltage_v, counting.meant
    on = ON_SHARE * float(np.percentile(np.abs(signed), 90))
    found = [
        *_of_currents(signed, meant, on, known),
        *_of_voltages(volts, np.abs(signed) > on, meant, known),
    ]
    found.sort(key=lambda one: one.row or 0)
    return tuple(ReadingQuestion(int(counting.ids[(one.row or 1) - 1]), one) for one in found)


def _covered(values: Floats, meant: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which values were meant, or are about the same as one that was."""
    covered = meant.copy()
    for value in np.unique(values[meant & np.isfinite(values) & (values > 0)]):
        covered |= (values >= value / ABOUT_THE_SAME) & (values <= value * ABOUT_THE_SAME)
    return covered


def _of_currents(signed: Floats, meant: NDArray[np.bool_], on: float, known: Known) -> list[Doubt]:
    amps = np.abs(signed)
    covered = _covered(amps, meant)
    beside = _beside(amps, covered, on)
    size = np.maximum(amps, beside) / np.minimum(np.where(amps > 0, amps, np.nan), beside)
    odd = np.flatnonzero(~covered & (size >= TENFOLD[0]) & (size <= TENFOLD[1]))
    if len(amps) == 2:
        # Each stands out beside the other: the newer one is asked about.
        odd = odd[-1:]
    alone = odd if odd.size <= MAX_LONE else odd[:0]
    most = most_usual_a(known)
    beyond = np.setdiff1d(np.flatnonzero(~covered & (amps > most)), alone)
    return [
        *(_lone(int(row), signed, float(beside[row])) for row in alone),
        *(_beyond(int(row), signed, most, known) for row in beyond[-MAX_TOLD:]),
    ]


def _beside(amps: Floats, covered: NDArray[np.bool_], on: float) -> Floats:
    """The current that the two readings beside each one agree on; nan where they do not.

    The first and the last reading have both on one side; beside a load that is meant nothing else
    stands out.
    """
    rows = np.arange(len(amps))
    last = len(amps) - 1
    if last < 1:
        return np.full(len(amps), np.nan)
    one = np.where(rows == 0, 1, rows - 1)
    other = np.where(rows == 0, min(2, last), np.where(rows == last, last - 2, rows + 1))
    if last == 1:
        other = one
    low, high = np.minimum(amps[one], amps[other]), np.maximum(amps[one], amps[other])
    agree = (low > on) & (high <= NEIGHBOURS_AGREE * low) & ~(covered[one] & covered[other])
    return np.where(agree, (low + high) / 2, np.nan)


def _lone(row: int, signed: Floats, beside: float) -> Doubt:
    value = float(signed[row])
    more = abs(value) > beside
    instead = value * (0.1 if more else 10.0)
    words = (
        N_("{odd_a:.4g} A is about ten times the {beside_a:.4g} A beside it.")
        if more
        else N_("{odd_a:.4g} A is about a tenth of the {beside_a:.4g} A beside it.")
    )
    return _doubt(DoubtKind.LONE, row, value, [instead], say(words, odd_a=value, beside_a=beside))


def _beyond(row: int, signed: Floats, most: float, known: Known) -> Doubt:
    value = float(signed[row])
    least = LEAST_RATE * (known.rated_ah or 0.0)
    other = [value * factor for factor in (0.1, 0.001) if least <= abs(value) * factor <= most]
    words = say(
        "{current_a:.4g} A; up to {most_a:.4g} A is usual for such a battery.",
        current_a=value,
        most_a=most,
    )
    return _doubt(DoubtKind.CURRENT, row, value, other, words)


def _of_voltages(
    volts: Floats, loaded: NDArray[np.bool_], meant: NDArray[np.bool_], known: Known
) -> list[Doubt]:
    seen = loaded & np.isfinite(volts)
    if not seen.any():
        return []
    low, high = possible_volts(known, volts[seen])
    out = seen & ~_covered(volts, meant) & ((volts < low) | (volts > high))
    return [
        _doubt(
            DoubtKind.VOLTAGE,
            int(row),
            float(volts[row]),
            other_volts(float(volts[row]), low, high),
            say(
                "{volt:.4g} V; {low:.4g} to {high:.4g} V is possible under load.",
                volt=volts[row],
                low=low,
                high=high,
            ),
        )
        for row in np.flatnonzero(out)[-MAX_TOLD:]
    ]


def _doubt(kind: DoubtKind, row: int, value: float, other: list[float], words: str) -> Doubt:
    unit = N_("{value:.4g} V") if kind is DoubtKind.VOLTAGE else N_("{value:.4g} A")
    ways = [Alternative(say(unit, value=one), value=one) for one in other]
    return Doubt(kind, row + 1, value, (*ways, as_it_stands(None, value)), words)
