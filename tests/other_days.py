"""Capacity tests on ordinary days, built otherwise: these judge, nothing was tuned on them.

A refrigerator with a thermostat, a wall and air of its own; four cells of different capacity whose
weakest opens the protection; a discharge curve as a formula; measured temperatures of single types
of cells; a person who reads when there is time. Invented; independent of app/.
"""

import math
import random

import numpy as np

from app.domain.readings import Readings
from tests.ordinary_days import Day

STEP_H = 1 / 180
# Share of the capacity at 25 °C, by type of cell (check against published records, 26 to 31 h).
CELLS = (
    ((-5, 0.988), (5, 0.992), (15, 0.999), (25, 1.0), (35, 1.001), (45, 1.003)),
    ((-5, 1.001), (5, 0.998), (15, 1.006), (25, 1.0), (35, 1.004), (45, 1.003)),
    ((-5, 0.978), (5, 0.994), (15, 1.001), (25, 1.0), (35, 1.003), (45, 1.007)),
)


def _cell_volts(left_ah, knee_ah):
    """Flat, then falling ever faster: 2.5 V at nothing left, 3.0 V at 1.19 times the knee.

    Published cells have 2.4 to 4.8 % of their capacity below 3.0 V: knees of 1.8 to 3.8 Ah.
    """
    left = np.maximum(left_ah, 0.0)
    return 3.22 + 0.0009 * left - 0.72 * np.exp(-left / knee_ah)


def _resistor(chance, n):
    hours = np.arange(n) * STEP_H
    ohm = 12.9 / chance.uniform(5, 12)
    return (13.1 - 0.03 * hours + 0.15 * np.sin(hours / chance.uniform(0.3, 2.0))) / ohm


def _refrigerator(chance, n):
    """A thermostat between two temperatures; the air outside warms and cools, a door is opened."""
    return _thermostat(chance, n, chance.choice((0.8, 1.5, 2.5)), chance.uniform(3.5, 6.5))


def _small_base(chance, n):
    """The same with a base load of 2 to 5 % of its peak."""
    peak = chance.uniform(9, 15)
    base = chance.uniform(0.02, 0.05) * peak
    return _thermostat(chance, n, base, peak - base)


def _thermostat(chance, n, base, more):
    # Kelvin an hour: what the compressor takes out, and the wall's share of what is outside.
    pull, leak = chance.uniform(12, 30), chance.uniform(0.15, 0.5)
    low, high = 3.0, 3.0 + chance.uniform(2.0, 5.0)
    inside, on, amps = chance.uniform(low, high), chance.random() < 0.5, np.empty(n)
    middle, swing, phase = chance.uniform(20, 30), chance.uniform(1, 6), chance.uniform(0, 6.3)
    for i in range(n):
        outside = middle + swing * math.sin(2 * math.pi * i * STEP_H / 24 + phase)
        inside += (leak * (outside - inside) - (pull if on else 0.0)) * STEP_H
        if chance.random() < STEP_H / 1.5:
            inside += chance.uniform(0.3, 1.5)
        on = inside > (low if on else high)
        amps[i] = base + (more if on else 0.0)
    return amps


def _household(chance, n):
    """A base load, and appliances of their own power and hours on top."""
    amps = np.full(n, chance.uniform(1.5, 5.0))
    for _ in range(chance.randint(2, 4)):
        power, usual_h = chance.uniform(1.5, 7.0), chance.uniform(0.7, 5.0)
        at, on = 0.0, chance.random() < 0.5
        while at < n * STEP_H:
            until = at + usual_h * chance.uniform(0.4, 1.8)
            if on:
                amps[round(at / STEP_H) : round(until / STEP_H)] += power
            at, on = until, not on
    return amps


LOADS = {
    "resistor": _resistor,
    "compressor": _refrigerator,
    "small base": _small_base,
    "steps": _household,
}


def a_day(chance: random.Random, load: str, every_h: float, read_amps, missed: float = 0.0) -> Day:
    """Four cells in series: the weakest opens the protection; the meter sees their sum."""
    weakest = chance.uniform(58, 108)
    more = [0.0, *(abs(chance.gauss(0, 0.6)) for _ in range(3))]
    knee, opens_v, ohm = chance.uniform(1.8, 3.8), chance.choice((2.5, 2.6, 2.7, 2.8)), 0.0035
    amps = LOADS[load](chance, round(140 / STEP_H))
    used = np.concatenate(([0.0], np.cumsum((amps[1:] + amps[:-1]) / 2 * STEP_H)))
    short = chance.triangular(-0.005, 0.005)
    cells = [_cell_volts(weakest * (1 - short) + one - used, knee) - ohm * amps for one in more]
    end = int(np.flatnonzero(cells[0] <= opens_v)[0])
    rows, at = [0], 0.0
    while True:
        at += every_h
        late = chance.triangular(0, 0.12, 0) * every_h if every_h > 0.1 else 0.0
        if round((at + late) / STEP_H) >= end:
            break
        if chance.random() >= missed:
            rows.append(round((at + late) / STEP_H))
    celsius, shares = zip(*chance.choice(CELLS), strict=True)
    temperature = chance.triangular(5, 45, 22)
    readings = Readings.of(
        [row * STEP_H * 3600 for row in rows],
        [read_amps(float(amps[row])) for row in rows],
        [round(float(sum(cell[row] for cell in cells)), 2) for row in rows],
        [temperature + chance.triangular(-2, 2) for _ in rows],
    )
    rated_hours = chance.choice((None, 5.0, 10.0, 20.0))
    truth = (float(used[end]) + weakest * short) / float(np.interp(temperature, celsius, shares))
    if rated_hours is not None:
        # Between no effect of the rate (cells made for power) and 1.8 % for a factor of e.
        slope = chance.triangular(0.0, 0.018, 0.003)
        mean = max(float(np.mean(amps[:end])), 5.0)
        truth *= (mean / max(100 / rated_hours, 5.0)) ** slope
    return Day(readings, truth, end * STEP_H, rated_hours)
