"""The order of the times of one record: a clock that was set, shared moments, wild times."""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from app.domain.readings import ON_SHARE
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR

Floats = NDArray[np.float64]
# A time that lies this much farther from the middle than nearly all others is none of the record.
_WILD = 3.0
_WILD_SHARE = 0.01
_LEAST_ROWS = 10
# Rows of one moment are seldom, or their currents are the same.
_SELDOM = 0.05
_ALIKE = 0.05
_LEAST_PAIRS = 10
# Two currents at one moment are asked about where the one or the other would change what was drawn
# by more than this share (our own choice: less than any meter can tell).
_MATTERS = 0.001
# More rows than this share with the moment of the row before are a second battery.
_OFTEN = 0.25
# Rows are close where the usual step is this much shorter than a gap.
_CLOSE = 20.0
_LEAST_STEPS = 3


def mend_clock_change(times: Floats, begin: datetime | None) -> tuple[Floats, int | None, str]:
    """Times of a record during which the clock was set, the first row after it, and which way.

    Back: where it is plain, one step back, shorter by an hour than the usual one. A record with
    longer steps may as well hold the same row twice, and is refused by its row. Forward: where
    begin is a local time and this machine's own zone sets its clock within a step that is longer
    by just that.
    """
    steps = np.diff(times)
    back = np.flatnonzero(steps <= 0)
    usual = float(np.median(steps)) if steps.size else 0.0
    if not back.size and begin is not None and begin.tzinfo is None and usual > 0:
        row, change = _set_forward(times, begin)
        if row is not None and abs(steps[row - 1] - usual - change) <= _slack(usual):
            return _moved(times, row, -change), row, "forward"
    if back.size != 1 or not 0 < usual <= SECONDS_PER_HOUR / 2:
        return times, None, ""
    row = int(back[0]) + 1
    if abs(steps[row - 1] - (usual - SECONDS_PER_HOUR)) > _slack(usual):
        return times, None, ""
    return _moved(times, row, SECONDS_PER_HOUR), row, "back"


def _slack(usual: float) -> float:
    """How far a step may be from what it would be with the clock set."""
    return max(60.0, 0.1 * usual)


def _moved(times: Floats, row: int, by_s: float) -> Floats:
    moved = times.copy()
    moved[row:] += by_s
    return moved


def _set_forward(times: Floats, begin: datetime) -> tuple[int | None, float]:
    """The first row after this machine's zone set its clock forward, and by how much."""

    def offset(since_s: float) -> float:
        shift = (begin + timedelta(seconds=since_s)).astimezone().utcoffset()
        return 0.0 if shift is None else shift.total_seconds()

    try:
        first, change = offset(0.0), offset(float(times[-1])) - offset(0.0)
        if change <= 0:
            return None, 0.0
        return bisect_right(times, first, key=lambda since_s: offset(float(since_s))), change
    except (OverflowError, ValueError, OSError):
        # Years at the ends of the calendar have no zone.
        return None, 0.0


def untold_gap(times: Floats) -> int | None:
    """The first row behind a gap of more than half a day among close rows; None without one.

    For times of day without dates: such a gap may as well be a step back, or several days.
    """
    steps = np.diff(times)
    if steps.size < _LEAST_STEPS:
        return None
    wide = np.flatnonzero(steps > max(SECONDS_PER_DAY / 2, _CLOSE * float(np.median(steps))))
    return int(wide[0]) + 1 if wide.size else None


def wild_rows(times: Floats) -> NDArray[np.int64]:
    """Rows whose time is more than a day away from a record that is in order without them.

    None where they are more than single ones, or the rest is too short to tell.
    """
    nothing = np.zeros(0, np.int64)
    if times.size < _LEAST_ROWS:
        return nothing
    away = np.abs(times - np.median(times))
    limit = max(float(SECONDS_PER_DAY), _WILD * float(np.percentile(away, 90)))
    rows = np.flatnonzero(away > limit)
    if not rows.size or rows.size > max(1, _WILD_SHARE * times.size):
        return nothing
    return rows if np.all(np.diff(np.delete(times, rows)) >= 0) else nothing


@dataclass(frozen=True)
class Spread:
    """Times with the rows of one moment spread over it; how many there were, the first of them."""

    times: Floats
    count: int
    first: int


def spread_moments(times: Floats, shown_s: float, currents: Floats) -> Spread | None:
    """Rows that share a moment, each at its part of what the clock shows as one.

    None where times run backwards, or where the rows of one moment may well be of two batteries:
    they come often, and their currents differ.
    """
    steps = np.diff(times)
    still = steps == 0
    if np.any(steps < 0) or not still.any() or not np.all(np.isfinite(currents)):
        return None
    if np.mean(still) > _SELDOM and not _of_one_battery(still, currents):
        return None
    begins = np.flatnonzero(np.concatenate(([True], ~still)))
    counts = np.diff(np.concatenate((begins, [times.size])))
    widths = np.diff(times[begins], append=np.inf)
    parts = np.minimum(widths, shown_s) / counts
    place = np.arange(times.size) - np.repeat(begins, counts)
    spread = times + place * np.repeat(parts, counts)
    return Spread(spread, int(np.count_nonzero(still)), int(np.flatnonzero(still)[0]) + 1)


def two_currents(times: Floats, currents: Floats) -> int | None:
    """The first row that says another current at the very moment of the row before; None if none.

    Where either is off, the load was switched. Where the next row follows soon, it hardly matters
    which of the two counts; where most rows come in pairs, there are two batteries.
    """
    steps = np.diff(times)
    still = steps == 0
    if not still.any() or np.any(steps < 0) or np.mean(still) > _OFTEN:
        return None
    sizes = np.abs(currents)
    drawn = float(np.sum(steps * (sizes[1:] + sizes[:-1]) / 2))
    on = sizes > ON_SHARE * float(np.median(sizes))
    until_next = np.append(steps[1:], 0.0)
    matters = np.abs(np.diff(currents)) * until_next / 2 > _MATTERS * drawn
    rows = np.flatnonzero(still & on[1:] & on[:-1] & matters)
    return int(rows[0]) + 1 if rows.size else None


def _of_one_battery(still: NDArray[np.bool_], currents: Floats) -> bool:
    """Whether rows of one moment agree, and do not go to and fro between two levels."""
    steps = np.diff(currents)
    usual = float(np.median(np.abs(currents)))
    if float(np.median(np.abs(steps[still]))) > _ALIKE * usual:
        return False
    inside, between = np.sign(steps[still]), np.sign(steps[~still])
    # With nothing between them the clock stood still: that is one moment, not two levels.
    if inside.size < _LEAST_PAIRS or not between.size:
        return True
    return not (abs(inside.mean()) > 0.8 and abs(between.mean() + inside.mean()) < 0.2)


@dataclass(frozen=True)
class Ordered:
    """Which rows were taken, in order, with their times since the first of them.

    wild are the rows that were left out; spread is there where rows share a moment.
    """

    rows: NDArray[np.int64]
    times: Floats
    wild: NDArray[np.int64]
    newest_first: bool
    spread: Spread | None


def in_order(times: Floats, latest_s: float, shown_s: float, currents: Floats) -> Ordered | None:
    """The rows of a record whose moments are known, in order; None where they cannot be brought so.

    latest_s is how long a record may be, shown_s the smallest step that its times show.
    """
    rows, wild, newest_first = np.arange(times.size), np.zeros(0, np.int64), False

    def fine(some: Floats) -> bool:
        return bool(np.all(np.diff(some) >= 0)) and float(some[-1] - some[0]) <= latest_s

    if not fine(times):
        wild = wild_rows(times)
        if wild.size:
            rows = np.delete(rows, wild)
        elif times.size > 2:
            rows, newest_first = rows[::-1], True
        if not fine(times[rows]):
            return None
    taken = times[rows]
    taken = taken - taken[0]
    spread = spread_moments(taken, shown_s, currents[rows])
    taken = taken if spread is None else spread.times
    return Ordered(rows, taken, wild, newest_first, spread) if np.all(np.diff(taken) > 0) else None
