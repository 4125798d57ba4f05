"""Readings from the columns that there are: a current from power, or from what was counted."""

from array import array
from collections.abc import Collection

import numpy as np

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.readings import COLUMNS, Readings
from app.domain.units.time_units import SECONDS_PER_HOUR
from app.ingest.numbers import Floats

# A counter that stands still more often than this is too coarse for the interval of its log.
_STILL_SHARE = 0.2


def carrier(roles: Collection[str]) -> str:
    """The column without which a row says nothing of the load; empty where there is none."""
    if "current" in roles:
        return "current"
    if {"power", "voltage"} <= set(roles):
        return "power"
    if "count" in roles:
        return "count"
    return "energy" if {"energy", "voltage"} <= set(roles) else ""


def readings_of(columns: dict[str, Floats]) -> Readings:
    """Columns by role as readings; one that is not there is empty.

    A current that was not logged comes from power and voltage, or is the mean of each interval by
    what was counted in it.
    """
    carried = carrier(columns)
    if carried == "power":
        columns["current"] = _by_voltage(columns, "power")
    elif carried in ("count", "energy"):
        if carried == "energy":
            columns["count"] = _charge_of(columns)
        columns["current"] = interval_means(columns["time"], columns["count"])
    nothing = np.full(len(columns["time"]), np.nan)
    counted = columns.get("count")
    made = [
        _packed(columns.pop(role, nothing))
        for role in ("time", "current", "voltage", "temperature", "gauge")
    ]
    known = counted is not None and bool(np.isfinite(counted).any())
    return Readings(
        **dict(zip(COLUMNS, made, strict=True)),
        counted_ah=_packed(counted) if counted is not None and known else None,
    )


def power_beside(columns: dict[str, Floats]) -> "array[float] | None":
    """The power that was logged beside a current of its own; it may bear witness to that."""
    if carrier(columns) != "current" or "power" not in columns:
        return None
    return _packed(columns["power"])


def _packed(column: Floats) -> "array[float]":
    packed = array("d")
    packed.frombytes(np.ascontiguousarray(column, dtype=np.float64).view(np.uint8).data)
    return packed


def _by_voltage(columns: dict[str, Floats], role: str) -> Floats:
    """A column divided by the voltage.

    Raises InvalidInput, naming the reading, where there is none.
    """
    volts = np.where(columns["voltage"] > 0, columns["voltage"], np.nan)
    divided: Floats = columns[role] / volts
    if np.isfinite(divided).all():
        return divided
    row = int(np.flatnonzero(~np.isfinite(divided))[0]) + 1
    raise InvalidInput.because(
        say("voltage in reading {number}", number=row),
        "",
        say("a voltage above 0 V, to make a current of the power"),
    )


def _charge_of(columns: dict[str, Floats]) -> Floats:
    """Amp-hours from watt-hours: each interval's growth at its mean voltage."""
    per_volt = _by_voltage({**columns, "one": np.ones(len(columns["time"]))}, "one")
    growth = np.diff(columns["energy"]) * (per_volt[1:] + per_volt[:-1]) / 2
    return np.concatenate(([0.0], np.cumsum(growth)))


def interval_means(time: Floats, count: Floats) -> Floats:
    """The mean current up to each row, from the interval before it; the first is the second's.

    A counter that shows too few steps for its log is read as going on evenly between them.
    """
    growth = np.diff(count)
    moving = np.flatnonzero(growth)
    if moving.size > 2:
        run = growth[moving[0] : moving[-1] + 1]
        if np.count_nonzero(run == 0) > _STILL_SHARE * run.size:
            turns = np.concatenate(([moving[0]], moving + 1))
            inside = slice(moving[0], moving[-1] + 2)
            even = count.astype(np.float64).copy()
            even[inside] = np.interp(time[inside], time[turns], count[turns])
            growth = np.diff(even)
    means: Floats = growth / np.diff(time) * SECONDS_PER_HOUR
    return np.concatenate((means[:1], means))
