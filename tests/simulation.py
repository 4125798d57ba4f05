"""A battery on the bench, simulated with a known truth. Invented; independent of app/."""

import itertools
import math
import random
from dataclasses import dataclass

from app.domain.chemistry import Chemistry
from app.domain.readings import Readings

# Volts of one cell under a light load against the share of charge left, and where its protection
# opens. Drawn by hand after the usual shapes (common practice).
CURVES = {
    Chemistry.LFP: [
        (0.0, 2.5),
        (0.01, 2.75),
        (0.03, 2.95),
        (0.06, 3.07),
        (0.12, 3.15),
        (0.25, 3.21),
        (0.6, 3.28),
        (0.95, 3.33),
        (1.0, 3.4),
    ],
    Chemistry.LITHIUM_ION: [
        (0.0, 3.0),
        (0.02, 3.15),
        (0.06, 3.35),
        (0.2, 3.52),
        (0.6, 3.75),
        (1.0, 4.15),
    ],
    Chemistry.AGM: [(0.0, 1.75), (0.05, 1.83), (0.2, 1.93), (0.5, 2.02), (1.0, 2.13)],
}
CELLS = {Chemistry.LFP: 4, Chemistry.LITHIUM_ION: 4, Chemistry.AGM: 6}
NOMINAL_V = {Chemistry.LFP: 12.8, Chemistry.LITHIUM_ION: 14.6, Chemistry.AGM: 12.0}


@dataclass(frozen=True)
class Run:
    """What the bench shows and what was true."""

    readings: Readings
    end_h: float
    protection_opened: bool


def volts(chemistry, left):
    points = CURVES[chemistry]
    for (low, v_low), (high, v_high) in itertools.pairwise(points):
        if left <= high:
            return CELLS[chemistry] * (v_low + (v_high - v_low) * (left - low) / (high - low))
    return CELLS[chemistry] * points[-1][1]


def steady_load(_volts, _hours):
    return 9.0


def discharge(
    capacity_ah,
    *,
    chemistry=Chemistry.LFP,
    load=steady_load,
    every_h=1.0,
    gauge_set_ah=100.0,
    gauge_step=1.0,
    stop_at_percent=None,
    read_amps=lambda amps: amps,
    temperature_c=22.0,
    last_reading=True,
    step_h=1 / 120,
):
    """Run a load until the protection opens, or until the gauge shows stop_at_percent.

    read_amps turns true amps into what the meter shows; with last_reading the end itself is read.
    """
    rows, used, hours, due = [], 0.0, 0.0, 0.0
    while True:
        left = 1 - used / capacity_ah
        u = volts(chemistry, max(left, 0.0))
        amps = load(u, hours)
        percent = max(0.0, 100 - 100 * used / gauge_set_ah)
        gauge = gauge_step * math.floor(percent / gauge_step + 0.5)
        opened = left <= 1e-9
        stopped = stop_at_percent is not None and gauge <= stop_at_percent
        if hours >= due - 1e-9 or ((opened or stopped) and last_reading):
            rows.append((hours * 3600, read_amps(amps), round(u, 2), temperature_c, gauge))
            due += every_h
        if opened or stopped:
            break
        take = min(step_h, (capacity_ah - used) / amps) if amps > 0 else step_h
        used += amps * take
        hours += take
    columns = [list(column) for column in zip(*rows, strict=True)]
    return Run(Readings.of(*columns), hours, opened)


def meter(chance: random.Random, gain_percent, offset_a, step_a):
    """A meter whose errors lie somewhere within its limits."""
    gain = 1 + chance.uniform(-gain_percent, gain_percent) / 100
    offset = chance.uniform(-offset_a, offset_a)

    def shown(amps):
        value = amps * gain + offset
        return step_a * round(value / step_a) if step_a else value

    return shown
