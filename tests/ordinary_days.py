"""Capacity tests on ordinary days, simulated with a known truth. Invented; independent of app/.

The sampling rules were tuned on these days; tests/other_days.py is built otherwise, to judge them.
"""

import random
from dataclasses import dataclass

import numpy as np

from app.domain.readings import Readings

STEP_H = 1 / 120
RATED_AH = 100.0
# Ah left below a cell's voltage for a tail of the usual length, per 100 Ah rated: the mean of
# measured cells (app/analysis/counting/tail.py); the plateau is drawn by hand (common practice).
TAIL_AH = (0.0, 0.5, 1.1, 2.1, 3.7, 6.2)
TAIL_V = (2.5, 2.7, 2.8, 2.9, 3.0, 3.1)
PLATEAU_SHARE = (0.12, 0.25, 0.6, 0.95, 1.0)
PLATEAU_V = (3.17, 3.21, 3.28, 3.33, 3.4)


@dataclass(frozen=True)
class Battery:
    """capacity_ah from full to 2.5 V a cell; the protection opens at opens_v a cell, under load."""

    capacity_ah: float
    tail: float
    opens_v: float
    ohm: float

    def volts(self, left_ah, amps):
        ah = [self.tail * RATED_AH / 100 * one for one in TAIL_AH]
        rest = [
            max(ah[-1] + 0.1 * i, share * self.capacity_ah)
            for i, share in enumerate(PLATEAU_SHARE, 1)
        ]
        return 4 * np.interp(left_ah, ah + rest, TAIL_V + PLATEAU_V) - self.ohm * amps


def a_battery(chance: random.Random) -> Battery:
    return Battery(
        capacity_ah=chance.uniform(62, 106),
        tail=min(1.9, max(0.3, chance.gauss(1.0, 0.3))),
        opens_v=chance.uniform(2.5, 2.8),
        ohm=chance.uniform(0.005, 0.015),
    )


@dataclass(frozen=True)
class Day:
    """What was written down of one test, and its true capacity at the label's conditions."""

    readings: Readings
    truth_ah: float
    end_h: float
    rated_hours: float | None


def resistor(chance: random.Random, hours):
    amps = chance.uniform(6, 13)
    slow = 1 - chance.uniform(0.0, 0.06) * hours / 10
    return amps * slow * (1 + 0.02 * np.sin(2 * hours + amps))


def compressor(chance: random.Random, hours):
    """A compressor on a base load: each run and each pause of a length of its own."""
    base, more = chance.uniform(0.5, 3.0), chance.uniform(4.0, 8.0)
    return _runs_and_pauses(chance, hours, base, more, chance.uniform(0.1, 0.5))


def small_base(chance: random.Random, hours):
    """The same, or a kettle, on a base load of 2 to 5 % of the peak."""
    peak = chance.uniform(8.0, 14.0)
    base = chance.uniform(0.02, 0.05) * peak
    return _runs_and_pauses(chance, hours, base, peak - base, chance.uniform(0.05, 0.5))


def _runs_and_pauses(chance: random.Random, hours, base, more, on_h):
    duty = chance.uniform(0.2, 0.65)
    # Some keep time like a clock, some are opened and shut all day.
    ragged = chance.uniform(0.03, 0.35)
    amps, at, on = np.full_like(hours, base), -chance.random() * on_h / duty, True
    while at < hours[-1]:
        usual = on_h if on else on_h * (1 / duty - 1)
        until = at + usual * chance.lognormvariate(0, ragged)
        if on:
            amps[(hours >= at) & (hours < until)] += more
        at, on = until, not on
    return amps


def in_steps(chance: random.Random, hours):
    """Something is switched on or off at moments of its own."""
    mean_h, amps, at = chance.uniform(1.0, 4.0), np.empty_like(hours), 0.0
    while at < hours[-1]:
        until = at + chance.expovariate(1 / mean_h)
        amps[(hours >= at) & (hours < until)] = chance.uniform(3, 14)
        at = until
    amps[-1] = amps[-2]
    return amps


LOADS = {
    "resistor": resistor,
    "compressor": compressor,
    "small base": small_base,
    "steps": in_steps,
}


def a_day(chance: random.Random, load: str, every_h: float, read_amps, missed: float = 0.0) -> Day:
    """Run a load until the protection opens, read every so often; the end itself is not read."""
    battery = a_battery(chance)
    hours = np.arange(0, 120, STEP_H)
    amps = LOADS[load](chance, hours)
    used = np.concatenate(([0.0], np.cumsum((amps[1:] + amps[:-1]) / 2 * STEP_H)))
    full = 1 + chance.uniform(-0.005, 0.005)
    volts = battery.volts(battery.capacity_ah * full - used, amps)
    end = int(np.flatnonzero(volts <= 4 * battery.opens_v)[0])
    rows = np.arange(0, end, round(every_h / STEP_H))
    kept = [row for i, row in enumerate(rows) if i == 0 or chance.random() >= missed]
    temperature = chance.uniform(8, 42)
    readings = Readings.of(
        [float(hours[row]) * 3600 for row in kept],
        [read_amps(float(amps[row])) for row in kept],
        [round(float(volts[row]), 2) for row in kept],
        [temperature + chance.uniform(-2, 2)] * len(kept),
    )
    here = float(used[end]) + battery.capacity_ah * (1 - full)
    rated_hours = chance.choice((None, 5.0, 20.0))
    truth = (
        here
        / _share_at(chance, temperature)
        * _to_rate(chance, float(np.mean(amps[:end])), rated_hours)
    )
    return Day(readings, truth, float(hours[end]), rated_hours)


def _share_at(chance: random.Random, temperature):
    """The recommended table with its standard uncertainty, as it was when this was written."""
    known = [
        (5, 0.994, 0.006),
        (15, 0.999, 0.004),
        (25, 1.0, 0.002),
        (35, 1.003, 0.004),
        (45, 1.006, 0.007),
    ]
    celsius, shares, doubts = zip(*known, strict=True)
    return np.interp(temperature, celsius, shares) + chance.gauss(0, 1) * np.interp(
        temperature, celsius, doubts
    )


def _to_rate(chance: random.Random, amps, rated_hours):
    if rated_hours is None:
        return 1.0
    lowest = RATED_AH / 20
    return (max(amps, lowest) / max(RATED_AH / rated_hours, lowest)) ** chance.gauss(0.006, 0.008)
