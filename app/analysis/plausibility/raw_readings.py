"""The readings of a test as they are looked at before it is judged: no rule of it bridges any."""

from dataclasses import dataclass, replace

import numpy as np

from app.analysis.statistics.arrays import Floats
from app.domain.readings import ON_SHARE, Readings
from app.domain.units.time_units import SECONDS_PER_HOUR


@dataclass(frozen=True)
class RawReadings:
    """The readings as arrays, the current positive for discharge, up to where they count."""

    time_s: Floats
    amps: Floats
    volts: Floats
    counted: Floats | None
    on: float
    # How far the noted end lies behind the last of them.
    beyond_s: float = 0.0

    @property
    def charge_ah(self) -> float:
        if self.counted is not None:
            counted = abs(float(self.counted[-1] - self.counted[0]))
            return counted + self._beyond(self.amps)
        return self.charge_of(self.amps)

    def charge_of(self, amps: Floats) -> float:
        hours = np.diff(self.time_s) / SECONDS_PER_HOUR
        return abs(float(np.sum(hours * (amps[1:] + amps[:-1]) / 2))) + self._beyond(amps)

    def charge_without(self, row: int) -> float:
        """The charge where one reading is passed over."""
        time, amps = np.delete(self.time_s, row), np.delete(self.amps, row)
        return replace(self, time_s=time, amps=amps).charge_ah

    def charge_between(self, first: int, last: int) -> float:
        """What was counted from one row to another."""
        if self.counted is not None:
            return abs(float(self.counted[last] - self.counted[first]))
        rows = slice(first, last + 1)
        between = replace(self, time_s=self.time_s[rows], amps=self.amps[rows], beyond_s=0.0)
        return between.charge_ah

    def _beyond(self, amps: Floats) -> float:
        return float(amps[-1]) * self.beyond_s / SECONDS_PER_HOUR

    @property
    def usual_a(self) -> float:
        return float(np.median(self.amps[self.amps > self.on]))


def examined(
    readings: Readings, cut_off_v: float | None, ended_after_s: float | None = None
) -> RawReadings | None:
    time, amps, volts = (
        np.asarray(one, dtype=np.float64)
        for one in (readings.elapsed_s, readings.current_a, readings.voltage_v)
    )
    if len(time) < 2 or not np.all(np.diff(time) > 0):
        return None
    amps = -amps if np.sum(np.diff(time) * (amps[1:] + amps[:-1])) < 0 else amps
    on = ON_SHARE * float(np.percentile(amps, 90))
    loaded = np.flatnonzero(amps > max(on, 0.0))
    if loaded.size < 2:
        return None
    last, beyond_s = int(loaded[-1]), 0.0
    if ended_after_s is not None:
        last = min(last, max(1, int(np.searchsorted(time, ended_after_s, side="right")) - 1))
        beyond_s = max(0.0, ended_after_s - float(time[last]))
    if cut_off_v is not None:
        below = np.flatnonzero((volts <= cut_off_v) & (np.arange(len(volts)) > loaded[0]))
        if below.size and below[0] <= last:
            last, beyond_s = int(below[0]), 0.0
    rows = slice(0, max(last, 1) + 1)
    counted = None
    if readings.counted_ah is not None:
        shown = np.asarray(readings.counted_ah, dtype=np.float64)[rows]
        rises = np.diff(shown) * np.sign(shown[-1] - shown[0])
        # One that was reset on the way tells nothing.
        counted = shown if np.isfinite(shown).all() and np.all(rises >= 0) else None
    return RawReadings(time[rows], amps[rows], volts[rows], counted, max(on, 0.0), beyond_s)
