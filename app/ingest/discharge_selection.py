"""Finding the discharge in a record that holds charging and rest as well."""

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from app.domain.i18n.message import say
from app.domain.readings import ON_SHARE, Readings
from app.domain.units.time_units import SECONDS_PER_HOUR
from app.domain.units.unit import as_clock_span
from app.ingest.numbers import Floats

# Charging below this share of the larger direction is noise of a logger at rest.
NOISE_SHARE = 0.005
# A second stretch of discharge above this share of the first makes it unclear which one is meant.
OTHER_SHARE = 0.05
# A charge that the meter did not see lasts so long at least, without load or in a gap of so many
# usual steps. The voltage under load is back then but for this share of its fall, which was no less
# than that share of the voltage itself.
_UNSEEN_CHARGE_S = SECONDS_PER_HOUR
_WIDE_GAP = 10
_BACK_SHARE = 0.1
_FALL_SHARE = 0.05
_LEAST_ROWS = 3
MAX_LISTED = 50

Stretch = tuple[float, int, int]
"""The charge of a stretch of readings, its first row and its last."""


@dataclass(frozen=True)
class SelectedDischarge:
    """The readings of the discharge, how long after the record's start they begin, and a sentence.

    rows are those of the record. said is None where there was nothing to pick. Of several
    discharges among which the owner has to choose, listed are all.
    """

    readings: Readings
    after_s: float
    said: str | None
    rows: slice
    listed: "tuple[ListedDischarge, ...]" = ()


@dataclass(frozen=True)
class ListedDischarge:
    """One of several discharges in a record, by which its owner can tell it from the others.

    after_s is from the start of the record to its own, started_at and first_clock_s when that was,
    where the record says it. The volts are None where they were not logged.
    """

    number: int
    after_s: float
    charge_ah: float
    hours: float
    first_v: float | None
    last_v: float | None
    started_at: datetime | None = None
    first_clock_s: float | None = None

    @property
    def words(self) -> str:
        about = {"charge": self.charge_ah, "hours": self.hours}
        what = say("{charge:.1f} Ah in {hours:.1f} h", **about)
        if self.first_v is not None and self.last_v is not None:
            volts = {"first": self.first_v, "last": self.last_v}
            what = say("{what}, {first:.1f} to {last:.1f} V", what=what, **volts)
        return say("{number}: {start}, {what}", number=self.number, start=self._start, what=what)

    @property
    def _start(self) -> str:
        hours = self.after_s / SECONDS_PER_HOUR
        if self.started_at is not None:
            return say("{moment}", moment=self.started_at)
        if self.first_clock_s is None:
            return say("{hours:.1f} h after the first reading", hours=hours)
        clock = as_clock_span(self.first_clock_s // 60 * 60)
        return say("{clock}, {hours:.1f} h after the first reading", clock=clock, hours=hours)


def pick_discharge(readings: Readings, number: int | None = None) -> SelectedDischarge:
    """The stretch with the most discharge; of several the one with this number, else the first.

    A record in one direction comes back as it is, without a sentence. Where both directions occur
    the discharge is the one during which the voltage falls; without voltages nothing is picked.
    """
    time, amps = np.asarray(readings.elapsed_s), np.asarray(readings.current_a)
    volts = np.asarray(readings.voltage_v)
    steps = np.diff(time) / SECONDS_PER_HOUR
    up = float(np.sum(steps * np.maximum(amps[1:], 0)))
    down = float(np.sum(steps * np.maximum(-amps[1:], 0)))
    if min(up, down) <= NOISE_SHARE * max(up, down):
        found = _recharged_between(time, amps if up >= down else -amps, volts)
    else:
        found = _of_both_directions(time, amps, volts)
    if not found:
        return SelectedDischarge(readings, 0.0, None, slice(None))
    rows = [_with_edges(amps, first, last) for _, first, last in found]
    if len(rows) == 1:
        begin, end = rows[0]
        said = say(
            "Fadeline picked readings {first} to {last} of {count}, the discharge, and left out "
            "the charging and rest before and after it.",
            first=begin + 1,
            last=end,
            count=len(time),
        )
        listed: tuple[ListedDischarge, ...] = ()
    else:
        number = number if number is not None and 1 <= number <= len(rows) else 1
        begin, end = rows[number - 1]
        said = say(
            "Fadeline picked readings {first} to {last} of {count}, discharge {number} of {of}, "
            "and left out all others.",
            first=begin + 1,
            last=end,
            count=len(time),
            number=number,
            of=len(rows),
        )
        listed = tuple(
            _listed(readings, place, first, last)
            for place, (_, first, last) in enumerate(found[:MAX_LISTED], start=1)
        )
    picked = _slice(readings, begin, end)
    return SelectedDischarge(picked, float(time[begin]), said, slice(begin, end), listed)


def _of_both_directions(time: Floats, amps: Floats, volts: Floats) -> list[Stretch]:
    """The discharges of a record with charging in it, in their order; none where that is unsure."""
    sides = [_stretches(time, sign * amps) for sign in (1.0, -1.0)]
    alone = [len(side) == 1 and _falls(volts, side[0]) for side in sides]
    if alone[0] != alone[1]:
        return sides[0 if alone[0] else 1]
    # No voltage tells which way is discharge, or there is discharge on both sides of a charge: no
    # single test. It is listed where the voltage tells all the same; else it is refused by its row
    # later on.
    fall = [[_falls(volts, one) for one in side] for side in sides]
    for this, other in ((0, 1), (1, 0)):
        if len(sides[this]) > 1 and all(fall[this]) and fall[other] and not any(fall[other]):
            return sides[this]
    return []


def _recharged_between(time: Floats, amps: Floats, volts: Floats) -> list[Stretch]:
    """The discharges of a record in one direction between which its battery was charged unseen.

    The meter was in the load's wire alone. None where the voltage does not say so.
    """
    limit = ON_SHARE * float(np.max(amps, initial=0.0))
    on = np.flatnonzero((amps > limit) & np.isfinite(volts))
    if on.size < 2 or limit <= 0:
        return []
    gaps = np.diff(time[on])
    rests = (np.diff(on) > 1) | (gaps > _WIDE_GAP * float(np.median(gaps)))
    breaks = np.flatnonzero(rests & (gaps >= _UNSEEN_CHARGE_S)) + 1
    parts = [part for part in np.split(on, breaks) if len(part) >= _LEAST_ROWS]
    if len(parts) < 2:
        return []
    kept = [[int(parts[0][0]), int(parts[0][-1])]]
    for part in parts[1:]:
        first, last = kept[-1]
        fall = float(volts[first] - volts[last])
        back = float(volts[part[0]]) >= float(volts[first]) - _BACK_SHARE * fall
        if back and fall >= _FALL_SHARE * float(volts[first]):
            kept.append([int(part[0]), int(part[-1])])
        else:
            kept[-1][1] = int(part[-1])
    usual = float(np.median(np.diff(time)))
    widths = np.diff(time, prepend=time[0] - usual)
    # The gap before a discharge is none of it.
    widths[[first for first, _ in kept]] = usual
    found = [(_charge(widths, amps, first, last), first, last) for first, last in kept]
    found = _that_matter(found)
    return found if len(found) > 1 else []


def _with_edges(amps: Floats, first: int, last: int) -> tuple[int, int]:
    """The rows of a stretch with the reading of rest before and after it, where there is one."""
    limit = ON_SHARE * float(np.max(np.abs(amps)))
    begin, end = max(first - 1, 0), min(last + 2, len(amps))
    # Behind a gap the neighbour belongs to another discharge; elsewhere it may be charging.
    if np.sign(amps[begin]) == -np.sign(amps[first]) or abs(amps[begin]) > limit:
        begin = first
    if np.sign(amps[end - 1]) == -np.sign(amps[last]) or abs(amps[end - 1]) > limit:
        end = last + 1
    return begin, end


def _stretches(time: Floats, amps: Floats) -> list[Stretch]:
    """The stretches in this direction that matter, in their order.

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
            found.append((_charge(widths, amps, first, last), first, last))
    return _that_matter(found)


def _that_matter(found: Sequence[Stretch]) -> list[Stretch]:
    """Without those that are small beside the largest."""
    largest = max((charge for charge, _, _ in found), default=0.0)
    return [one for one in found if one[0] > OTHER_SHARE * largest]


def _charge(widths: Floats, amps: Floats, first: int, last: int) -> float:
    inside = slice(first, last + 1)
    return float(np.sum(widths[inside] * np.maximum(amps[inside], 0)))


def _listed(readings: Readings, number: int, first: int, last: int) -> ListedDischarge:
    """A stretch in words: from its first row under load to its last."""
    time = np.asarray(readings.elapsed_s)[first : last + 1] / SECONDS_PER_HOUR
    amps = np.asarray(readings.current_a)[first : last + 1]
    volts = np.asarray(readings.voltage_v)[first : last + 1]
    known = volts[np.isfinite(volts)]
    return ListedDischarge(
        number,
        float(readings.elapsed_s[first]),
        abs(float(np.sum(np.diff(time) * (amps[1:] + amps[:-1]) / 2))),
        float(time[-1] - time[0]),
        float(known[0]) if known.size else None,
        float(known[-1]) if known.size else None,
    )


def _falls(volts: Floats, stretch: Stretch) -> bool:
    """Whether the voltage falls over a stretch."""
    part = volts[stretch[1] : stretch[2] + 1]
    known = part[np.isfinite(part)]
    return bool(known.size > 1 and known[-1] < known[0])


def _slice(readings: Readings, begin: int, end: int) -> Readings:
    columns = {name: getattr(readings, name)[begin:end] for name in readings.columns}
    zero = columns["elapsed_s"][0]
    columns["elapsed_s"] = array("d", (value - zero for value in columns["elapsed_s"]))
    return Readings(**columns)
