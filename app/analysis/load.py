"""The shape of the load: which way the current counts, when it was on, and where it misbehaved."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.arrays import Floats
from app.domain.errors import Refused
from app.domain.finding import Finding
from app.domain.noted import noted
from app.domain.readings import ON_SHARE
from app.domain.saying import say

SPIKE_FACTOR = 3.0
NEIGHBOURS_AGREE = 1.5
_NO_LOAD = noted("a discharge current in at least two readings")
_ONE_SPIKE = noted(
    "Reading {row} says {odd_a:.4g} A between {before_a:.4g} A and {after_a:.4g} A: that cannot "
    "be, it was counted as {counted_a:.4g} A. Please correct it."
)
_SPIKES = noted(
    "Reading {row} says {odd_a:.4g} A between {before_a:.4g} A and {after_a:.4g} A ({count} such "
    "readings): that cannot be, it was counted as {counted_a:.4g} A. Please correct it."
)


@dataclass(frozen=True)
class LoadShape:
    """Where the load was on. current_a is positive for discharge, with spikes bridged."""

    current_a: Floats
    threshold_a: float
    first_row: int
    first_loaded_row: int
    last_row: int
    start_s: float
    spikes: tuple[Finding, ...]


def load_shape(time: Floats, current: Floats) -> LoadShape:
    """Find the loaded stretch of a record.

    A row counts as loaded above 5 % of the typical load, so that a logger's noise at rest does
    not. The load is taken to have come on halfway between the last row at rest and the first row
    under load, which is what the trapezoid counts.

    Raises Refused, naming the row, for no load and for current in both directions.
    """
    net = float(np.sum(np.diff(time) * (current[1:] + current[:-1])))
    amps = -current if net < 0 else current
    lone = _lone_peaks(amps)
    peak = float(np.delete(amps, lone).max())
    if peak <= 0:
        raise Refused.because(
            say("current"), say("{current_a:g} A", current_a=peak), say(_NO_LOAD), "readings"
        )
    threshold = ON_SHARE * float(np.median(amps[amps > ON_SHARE * peak]))
    amps, spikes = _bridge(amps, lone, threshold)
    loaded = np.flatnonzero(amps > threshold)
    if loaded.size < 2:
        raise Refused.because(
            say("current"),
            say("one reading of {current_a:g} A", current_a=peak),
            say(_NO_LOAD),
            "readings",
        )
    _refuse_charging(amps, threshold, current)
    first, last = int(loaded[0]), int(loaded[-1])
    begin = max(first - 1, 0)
    return LoadShape(
        current_a=amps,
        threshold_a=threshold,
        first_row=begin,
        first_loaded_row=first,
        last_row=last,
        start_s=float(time[begin] + time[first]) / 2,
        spikes=tuple(spikes),
    )


def _lone_peaks(amps: Floats) -> NDArray[np.intp]:
    """Rows more than three times both their neighbours, while these agree with each other.

    The first and the last row have one neighbour only: they may be a heavy load, and stay.
    """
    before, here, after = amps[:-2], amps[1:-1], amps[2:]
    low, high = np.minimum(before, after), np.maximum(before, after)
    return 1 + np.flatnonzero(
        (low > 0) & (here > SPIKE_FACTOR * high) & (high <= NEIGHBOURS_AGREE * low)
    )


def _bridge(amps: Floats, lone: NDArray[np.intp], threshold: float) -> tuple[Floats, list[Finding]]:
    """Count impossible currents as their neighbours' mean, and say so.

    A slip of the pen or of the logger, counted as it stands, would pass for capacity. Only peaks
    between rows under load are such slips; a logger's noise at rest has peaks of its own.
    """
    if not lone.size:
        return amps, []
    spikes = lone[np.minimum(amps[lone - 1], amps[lone + 1]) > threshold]
    if not spikes.size:
        return amps, []
    bridged = amps.copy()
    bridged[spikes] = (amps[spikes - 1] + amps[spikes + 1]) / 2
    row = int(spikes[0])
    words = say(
        _ONE_SPIKE if spikes.size == 1 else _SPIKES,
        row=row + 1,
        odd_a=amps[row],
        before_a=amps[row - 1],
        after_a=amps[row + 1],
        count=spikes.size,
        counted_a=bridged[row],
    )
    return bridged, [Finding("spike", words)]


def _refuse_charging(amps: Floats, threshold: float, as_logged: Floats) -> None:
    wrong = np.flatnonzero(amps < -threshold)
    if wrong.size:
        row = int(wrong[0])
        raise Refused.because(
            say("current in reading {row}", row=row + 1),
            say("{current_a:g} A", current_a=as_logged[row]),
            say(
                "current in one direction only: this one charges where the rest discharges; "
                "leave the charging rows out"
            ),
            "readings",
        )
