"""Charge and energy that one discharge delivered."""

from dataclasses import dataclass

import numpy as np

from app.analysis.counting.counted import counted_over, energy_of, seen_by_counter
from app.analysis.counting.load_profile import LoadShape, load_shape
from app.analysis.counting.run_quality import course_caveats
from app.analysis.counting.sampling import turns_to_and_fro
from app.analysis.counting.voltage import usable_voltages
from app.analysis.statistics.arrays import Floats
from app.domain.entities.meter import LEAST_REST_A
from app.domain.errors import InvalidInput
from app.domain.finding import Finding
from app.domain.i18n.message import say, written_number
from app.domain.readings import Readings
from app.domain.units.time_units import SECONDS_PER_HOUR

RECOVERED = 1.005
# So little above a cut-off is the step of a meter, where this many last voltages fall to it.
HARDLY_V = 0.003
LAST_FALLING = 3
TELLING_LEVELS = 20
# A noted end may lie this share of the run behind the last reading under load.
MAX_BEYOND = 0.25


@dataclass(frozen=True)
class Delivered:
    """Result of counting one discharge.

    Indices are rows of the readings. time_s, current_a and count_ah cover the rows from first_row
    to last_row: time on the readings' own scale, current positive for discharge whatever sign the
    logger used, voltage (None where none was read; single gaps bridged), and the charge counted so
    far. end_s is the moment up to which was counted, on the same scale, beyond_s how far it lies
    behind the last reading. end_current_a is what the load drew from there on: the last current,
    or the mean of a load that turns to and fro. last_voltage_v is only what was read at the last
    row.
    """

    charge_ah: float
    energy_wh: float | None
    duration_s: float
    mean_current_a: float
    first_row: int
    last_row: int
    start_s: float
    end_s: float
    time_s: Floats
    current_a: Floats
    voltage_v: Floats | None
    count_ah: Floats
    last_voltage_v: float | None
    beyond_s: float
    end_current_a: float
    reached_cut_off: bool
    end_noted: bool
    caveats: tuple[Finding, ...]
    # The smallest step of the counter whose figures were taken; None where currents were added up.
    counter_step_ah: float | None = None

    @property
    def duration_h(self) -> float:
        return self.duration_s / SECONDS_PER_HOUR


def deliver(
    readings: Readings,
    *,
    cut_off_v: float | None = None,
    empty_v: float | None = None,
    ended_after_s: float | None = None,
    nominal_v: float | None = None,
    meant: bool = False,
    rest_a: float = LEAST_REST_A,
) -> Delivered:
    """Count the amp-hours (and watt-hours) between the first and the last reading under load.

    The charge is what a counter showed, last minus first, else the trapezoidal integral of the
    current. It ends at the first reading at or below
    cut_off_v (V) where that is given and reached (the rule of the published NASA capacities); at
    the last one under load where the voltages fell to within 3 mV and one step of theirs; else
    where the load went off for the first time with the voltage at or below empty_v (V), because a
    protection that opened may close again; else at ended_after_s (s) where the owner noted the
    moment, which goes first where the load had switched off and on before; else at the last
    reading under load. A noted end after the last reading is counted at end_current_a. Voltages
    that cannot be this battery's are not used (nominal_v, V). A slip of the decimal point is
    bridged, unless the owner says that every current is meant. Where the end was noted, what the
    meter can tell from nothing (above rest_a, A) is the load, however small beside its peaks.

    Raises InvalidInput, naming the row, for fewer than two readings, time that stands or runs
    backwards, current in both directions, no load at all, a cut-off that is reached at once, and
    a noted end that the readings do not bear out.
    """
    time, current, voltage = (np.asarray(c, dtype=np.float64) for c in _columns(readings))
    _check_times(time)
    shape = load_shape(
        time, current, meant=meant, rest_a=rest_a, end_noted=ended_after_s is not None
    )
    seen = usable_voltages(voltage, nominal_v)
    voltage = seen.volts
    cut_row = _cut_off_row(voltage, cut_off_v, shape)
    opened_row = None if cut_row is not None else _opened_row(voltage, empty_v, shape)
    cycled = _went_off(shape, shape.last_row if opened_row is None else opened_row)
    if cycled and ended_after_s is not None:
        opened_row = None
    last = next(row for row in (cut_row, opened_row, shape.last_row) if row is not None)
    noted = ended_after_s if cut_row is None and opened_row is None else None
    if noted is not None:
        _check_noted_end(time, noted, shape, cycled=cycled)
        reached = int(np.searchsorted(time, noted, side="right")) - 1
        last = reached if cycled else min(last, reached)
    rows = slice(shape.first_row, last + 1)
    t, amps, volts = time[rows], shape.current_a[rows], _fill(time[rows], voltage[rows])
    count = _cumulative(t, amps)
    counted, of_counter = counted_over(readings.counted_ah, rows, t, amps)
    if counted is not None:
        count = counted.count_ah
    extra_h = 0.0 if noted is None else (noted - float(t[-1])) / SECONDS_PER_HOUR
    end_current = float(amps[-1])
    if turns_to_and_fro(amps):
        end_current = float(count[-1] / (t[-1] - t[0]) * SECONDS_PER_HOUR)
    charge = float(count[-1] + end_current * extra_h)
    energy = None
    if volts is not None:
        energy = float(_cumulative(t, amps * volts)[-1])
        if counted is not None:
            energy = energy_of(count, volts)
        energy += end_current * float(volts[-1]) * extra_h
    end_s = float(t[-1]) if noted is None else noted
    duration = end_s - shape.start_s
    temperature = np.asarray(readings.temperature_c, dtype=np.float64)[rows]
    course = course_caveats(time, shape, rows, volts, temperature, duration, charge)
    return Delivered(
        charge_ah=charge,
        energy_wh=energy,
        duration_s=duration,
        mean_current_a=charge / duration * SECONDS_PER_HOUR,
        first_row=shape.first_row,
        last_row=last,
        start_s=shape.start_s,
        end_s=end_s,
        time_s=t,
        current_a=amps,
        voltage_v=volts,
        count_ah=count,
        last_voltage_v=float(voltage[last]) if np.isfinite(voltage[last]) else None,
        beyond_s=max(0.0, end_s - float(t[-1])),
        end_current_a=end_current,
        reached_cut_off=cut_row is not None,
        end_noted=noted is not None,
        caveats=(*seen.caveats, *of_counter, *(seen_by_counter(course) if counted else course)),
        counter_step_ah=None if counted is None else counted.step_ah,
    )


def _columns(readings: Readings) -> tuple[object, object, object]:
    if len(readings) < 2:
        least = say("at least two readings")
        raise InvalidInput.because(say("readings"), len(readings), least, "readings")
    return readings.elapsed_s, readings.current_a, readings.voltage_v


def _check_times(time: Floats) -> None:
    wrong = np.flatnonzero(np.diff(time) <= 0)
    if wrong.size:
        row = int(wrong[0]) + 1
        raise InvalidInput.because(
            say("time in reading {row}", row=row + 1),
            say("{seconds:g} s", seconds=time[row]),
            say("more than {before:g} s, the time of the reading before it", before=time[row - 1]),
            "readings",
        )


def _cumulative(time: Floats, values: Floats) -> Floats:
    """Trapezoidal integral up to each row, per hour."""
    steps = np.diff(time) * (values[1:] + values[:-1]) / 2
    return np.concatenate(([0.0], np.cumsum(steps))) / SECONDS_PER_HOUR


def _cut_off_row(voltage: Floats, cut_off_v: float | None, shape: LoadShape) -> int | None:
    if cut_off_v is None:
        return None
    first = shape.first_loaded_row
    low = voltage <= cut_off_v
    # A voltage that recovers while the load stays on was a dip and no cut-off.
    loaded = shape.current_a > shape.threshold_a
    dips = low[:-1] & loaded[1:] & (voltage[1:] > RECOVERED * cut_off_v)
    low[:-1] &= ~dips
    below = np.flatnonzero(low[first:])
    if not below.size:
        return shape.last_row if _hardly_above(voltage, cut_off_v, shape) else None
    row = int(below[0]) + first
    if row <= first:
        raise InvalidInput.because(
            say("cut-off voltage"),
            say("{volts:g} V", volts=cut_off_v),
            say("less than {first_v:.4g} V, the first voltage under load", first_v=voltage[row]),
            "cut_off_v",
        )
    return row


def _hardly_above(voltage: Floats, cut_off_v: float, shape: LoadShape) -> bool:
    """Whether the load went off on voltages that fell to a cut-off as nearly as they can show.

    A protection switches by its own meter, which need not agree with the logger's in the last
    step: 3 mV at the most, and never more than one step of the voltages that were logged.
    """
    row = shape.last_row
    last = voltage[shape.first_loaded_row : row + 1]
    last = last[np.isfinite(last)]
    if last.size < LAST_FALLING or not np.isfinite(voltage[row]):
        return False
    end = last[-LAST_FALLING:]
    falls = bool(np.all(np.diff(end) <= 0) and end[-1] < end[0])
    above = round(float(voltage[row]) - cut_off_v, 9)
    return falls and 0 < above <= min(HARDLY_V, _step_of(last))


def _step_of(volts: Floats) -> float:
    """The smallest step of voltages: between those that occur, which few do not tell finely."""
    levels = np.unique(volts)
    step = round(float(np.diff(levels).min()), 9) if levels.size > 1 else 0.0
    if levels.size >= TELLING_LEVELS:
        return step
    digits = max(len(f"{level:.6f}".rstrip("0").partition(".")[2]) for level in levels)
    return min(step, 10.0**-digits)


def _opened_row(voltage: Floats, empty_v: float | None, shape: LoadShape) -> int | None:
    """The last loaded row before the load went off for the first time on an empty battery."""
    if empty_v is None:
        return None
    loaded = shape.current_a > shape.threshold_a
    went_off = np.flatnonzero(loaded[:-1] & ~loaded[1:] & (voltage[:-1] <= empty_v))
    later = went_off[went_off > shape.first_loaded_row]
    return int(later[0]) if later.size else None


def _went_off(shape: LoadShape, before: int) -> bool:
    """Whether the load switched off and on again before a row."""
    return bool(np.any(shape.current_a[shape.first_loaded_row : before] <= shape.threshold_a))


def _check_noted_end(time: Floats, noted_s: float, shape: LoadShape, *, cycled: bool) -> None:
    """The noted end must lie under load, not far behind the last reading under load."""
    first, last = shape.first_loaded_row, shape.last_row
    reach = MAX_BEYOND * float(time[last] - time[first])
    latest = float(time[last]) + max(reach, 1.5 * float(np.diff(time).max()))
    # A reading at rest shows that the load was off by then, unless it switches off and on.
    if last + 1 < len(time) and not cycled:
        latest = min(latest, float(time[last + 1]))
    earliest = float(time[first + 1])
    if not earliest <= noted_s <= latest:
        raise InvalidInput.because(
            say("hours until the end"),
            written_number(noted_s / SECONDS_PER_HOUR, "g"),
            say(
                "{earliest_h:.4g} to {latest_h:.4g} h, from the second reading under load to soon "
                "after the last one",
                earliest_h=earliest / SECONDS_PER_HOUR,
                latest_h=latest / SECONDS_PER_HOUR,
            ),
            "ended_after_h",
        )


def _fill(time: Floats, voltage: Floats) -> Floats | None:
    """Voltages with gaps bridged in a straight line; None where fewer than two were read."""
    known = np.isfinite(voltage)
    if np.count_nonzero(known) < 2:
        return None
    return voltage if known.all() else np.interp(time, time[known], voltage[known])
