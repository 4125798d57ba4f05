"""Finding the discharge in a record that holds charging and rest as well."""

from array import array
from dataclasses import dataclass

import numpy as np

from app.domain.i18n.message import say
from app.domain.readings import ON_SHARE, Readings
from app.domain.units.time_units import SECONDS_PER_HOUR
from app.ingest.numbers import Floats

# Charging below this share of the larger direction is noise of a logger at rest.
NOISE_SHARE = 0.005
# A second stretch of discharge above this share of the first makes it unclear which one is meant.
OTHER_SHARE = 0.05


@dataclass(frozen=True)
class SelectedDischarge:
    """The readings of the discharge, how long after the record's start they begin, and a sentence.

    rows are those of the record. said is None where there was nothing to pick.
    """

    readings: Readings
    after_s: float
    said: str | None
    rows: slice


def pick_discharge(readings: Readings) -> SelectedDischarge:
    """The stretch with the most discharge.

    A record in one direction comes back as it is, without a sentence. Where both directions occur
    the discharge is the one during which the voltage falls; without voltages nothing is picked.
    """
    time, amps = np.asarray(readings.elapsed_s), np.asarray(readings.current_a)
    volts = np.asarray(readings.voltage_v)
    steps = np.diff(time) / SECONDS_PER_HOUR
    up = float(np.sum(steps * np.maximum(amps[1:], 0)))
    down = float(np.sum(steps * np.maximum(-amps[1:], 0)))
    if min(up, down) <= NOISE_SHARE * max(up, down):
        return SelectedDischarge(readings, 0.0, None, slice(None))
    sides = [_largest_stretch(time, sign * amps) for sign in (1.0, -1.0)]
    falls = [side is not None and _falls(volts, side) for side in sides]
    chosen = sides[0 if falls[0] else 1] if falls[0] != falls[1] else None
    if chosen is None:
        # No voltage tells which way is discharge, or there is discharge on both sides of a charge:
        # no single test; it is refused by its row later on.
        return SelectedDischarge(readings, 0.0, None, slice(None))
    first, last = chosen
    begin, end = max(first - 1, 0), min(last + 2, len(time))
    if np.sign(amps[begin]) == -np.sign(amps[first]):
        begin = first
    if np.sign(amps[end - 1]) == -np.sign(amps[last]):
        end = last + 1
    said = say(
        "Readings {first} to {last} of {count} were picked: the discharge. Charging and rest "
        "before and after it were left out.",
        first=begin + 1,
        last=end,
        count=len(time),
    )
    picked = _slice(readings, begin, end)
    return SelectedDischarge(picked, float(time[begin]), said, slice(begin, end))


def _largest_stretch(time: Floats, amps: Floats) -> tuple[int, int] | None:
    """First and last row of the one stretch in this direction that matters; None for several.

    A stretch ends where current flows the other way; rest inside it does not end it.
    """
    limit = ON_SHARE * float(np.max(np.abs(amps)))
    side = np.where(amps > limit, 1, np.where(amps < -limit, -1, 0))
    rows = np.flatnonzero(side)
    widths = np.diff(time, prepend=time[0] - float(np.median(np.diff(time))))
    bends = np.flatnonzero(np.diff(side[rows])) + 1
    found = []
    for part in np.split(rows, bends):
        if part.size and side[part[0]] == 1:
            first, last = int(part[0]), int(part[-1])
            inside = slice(first, last + 1)
            charge = float(np.sum(widths[inside] * np.maximum(amps[inside], 0)))
            found.append((charge, first, last))
    found.sort(reverse=True)
    if not found or (len(found) > 1 and found[1][0] > OTHER_SHARE * found[0][0]):
        return None
    return found[0][1], found[0][2]


def _falls(volts: Floats, stretch: tuple[int, int]) -> bool:
    """Whether the voltage falls over a stretch."""
    part = volts[stretch[0] : stretch[1] + 1]
    known = part[np.isfinite(part)]
    return bool(known.size > 1 and known[-1] < known[0])


def _slice(readings: Readings, begin: int, end: int) -> Readings:
    columns = {name: getattr(readings, name)[begin:end] for name in readings.columns}
    zero = columns["elapsed_s"][0]
    columns["elapsed_s"] = array("d", (value - zero for value in columns["elapsed_s"]))
    return Readings(**columns)
