"""The shape of the load: which way the current counts, when it was on, and where it misbehaved."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.statistics.arrays import Floats
from app.domain.entities.meter import LEAST_REST_A
from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.readings import ON_SHARE, Readings

# A slip of the decimal point: one reading about ten times or a tenth of its neighbours, while these
# agree with each other and no other reading lies so far on its side.
TENFOLD, NEAR_TENFOLD = 10.0, 1.25
NEIGHBOURS_AGREE = 1.5
SEVERAL = 3.0
_NO_LOAD = N_("a discharge current in at least two readings")


@dataclass(frozen=True)
class Slip:
    """One reading that cannot be, and the current that was counted instead."""

    row: int
    odd_a: float
    before_a: float
    after_a: float

    @property
    def counted_a(self) -> float:
        return (self.before_a + self.after_a) / 2


@dataclass(frozen=True)
class LoadShape:
    """Where the load was on. current_a is positive for discharge, with a slip bridged."""

    current_a: Floats
    threshold_a: float
    first_row: int
    first_loaded_row: int
    last_row: int
    start_s: float
    slip: Slip | None


def load_shape(
    time: Floats,
    current: Floats,
    *,
    meant: bool = False,
    rest_a: float = LEAST_REST_A,
    end_noted: bool = False,
) -> LoadShape:
    """Find the loaded stretch of a record; nothing is bridged where all of it is meant.

    A row counts as loaded above 5 % of the mean load, so that a logger's noise at rest does not,
    and a small load under large ones does. The load is taken to have come on halfway between the
    last row at rest and the first row under load, which is what the trapezoid counts.

    A base load may be less than that beside its peaks. What the meter can tell from nothing (above
    rest_a, A) is one where its owner noted the end; without that word it may as well be what is
    left on after a large load has tripped.

    Raises InvalidInput, naming the row, for no load and for current in both directions.
    """
    net = float(np.sum(np.diff(time) * (current[1:] + current[:-1])))
    amps = -current if net < 0 else current
    peak = float(amps.max())
    if peak <= 0:
        raise InvalidInput.because(
            say("current"), say("{current_a:g} A", current_a=peak), say(_NO_LOAD), "readings"
        )
    slip = None if meant else _slip(amps)
    if slip is not None:
        amps = amps.copy()
        amps[slip.row] = slip.counted_a
    share = _threshold(time, amps)
    threshold = min(share, rest_a) if end_noted else share
    loaded = np.flatnonzero(amps > threshold)
    if loaded.size < 2:
        raise InvalidInput.because(
            say("current"),
            say("one reading of {current_a:g} A", current_a=peak),
            say(_NO_LOAD),
            "readings",
        )
    _refuse_charging(amps, max(share, rest_a), current)
    first, last = int(loaded[0]), int(loaded[-1])
    begin = max(first - 1, 0)
    return LoadShape(
        current_a=amps,
        threshold_a=threshold,
        first_row=begin,
        first_loaded_row=first,
        last_row=last,
        start_s=float(time[begin] + time[first]) / 2,
        slip=slip,
    )


def _threshold(time: Floats, amps: Floats) -> float:
    """5 % of the mean current between the first and the last row that are not at rest."""
    drawn = np.maximum(amps, 0.0)
    whole = float(np.trapezoid(drawn, time) / (time[-1] - time[0]))
    awake = np.flatnonzero(drawn > ON_SHARE * whole)
    rows = slice(int(awake[0]), int(awake[-1]) + 1)
    if awake[0] == awake[-1]:
        return ON_SHARE * whole
    return ON_SHARE * float(
        np.trapezoid(drawn[rows], time[rows]) / (time[awake[-1]] - time[awake[0]])
    )


def is_bridged(readings: Readings) -> bool:
    """Whether one of the currents is taken for a slip of the decimal point and bridged."""
    return _slip(np.abs(np.asarray(readings.current_a, dtype=np.float64))) is not None


def _slip(amps: Floats) -> Slip | None:
    """The one reading whose decimal point slipped; several like it are a load.

    The first and the last row have one neighbour only: they may be a heavy load, and stay.
    """
    if amps.size < 3:
        return None
    before, here, after = amps[:-2], amps[1:-1], amps[2:]
    low, high = np.minimum(before, after), np.maximum(before, after)
    mean = (low + high) / 2
    # A logger's noise at rest has slips of its own.
    agree = (low > ON_SHARE * amps.max()) & (high <= NEIGHBOURS_AGREE * low)
    ratio = np.divide(here, mean, out=np.ones_like(here), where=agree)
    peaks = _near(ratio, TENFOLD)
    odd = np.flatnonzero(peaks | _near(ratio, 1 / TENFOLD))
    if odd.size != 1:
        return None
    row, usual = int(odd[0]) + 1, float(mean[odd[0]])
    if peaks[odd[0]]:
        alike = amps > SEVERAL * usual
    else:
        loaded = np.flatnonzero(amps > usual / SEVERAL)
        alike = amps[loaded[0] : loaded[-1]] < usual / SEVERAL
    if np.count_nonzero(alike) > 1:
        return None
    return Slip(row, float(amps[row]), float(amps[row - 1]), float(amps[row + 1]))


def _near(ratio: Floats, factor: float) -> NDArray[np.bool_]:
    return (ratio >= factor / NEAR_TENFOLD) & (ratio <= factor * NEAR_TENFOLD)


def _refuse_charging(amps: Floats, threshold: float, as_logged: Floats) -> None:
    wrong = np.flatnonzero(amps < -threshold)
    if wrong.size:
        row = int(wrong[0])
        raise InvalidInput.because(
            say("current in reading {row}", row=row + 1),
            say("{current_a:g} A", current_a=as_logged[row]),
            say(
                "current in one direction only: this one charges where the rest discharges; "
                "leave the charging rows out"
            ),
            "readings",
        )
