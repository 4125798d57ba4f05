"""A test while it runs: how far it is, when it will end, and what is going wrong."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from app.analysis.battery.expected_capacity import ExpectedCapacity
from app.analysis.counting.run_columns import RunColumns
from app.analysis.counting.run_quality import COLD_C, DRIFT_SHARE, HOT_C
from app.analysis.counting.sampling import turns_to_and_fro
from app.analysis.evidence.uncertainty import meter_lines
from app.analysis.plausibility.run_questions import VOLTAGE, ReadingQuestion, questions_about
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.budget import combine
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.meter import MeterDetails
from app.domain.entities.run import Run, RunState
from app.domain.finding import Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, CelsiusRange, say
from app.domain.quantity import READING_ELAPSED
from app.domain.readings import ON_SHARE
from app.domain.units.time_units import SECONDS_PER_HOUR

# Within this share above empty the end is near: the curve falls within the hour (common practice).
NEAR_EMPTY_SHARE = 0.04
_CLOSE_TO_EMPTY = N_(
    "{newest_v:.2f} V is close to {empty_v:.2f} V, the voltage at which the battery is empty: "
    "stay with it and note the moment it cuts off."
)
_EMPTY = N_(
    "{newest_v:.2f} V is at or below {empty_v:.2f} V, the voltage at which the battery is empty: "
    "note the moment it cuts off, and end the test."
)
ODD_VOLTAGE_SHARE = 0.01
LATE_SHARE = 0.25
# A first reading later than this leaves charge out that the result does not hold.
LATE = timedelta(minutes=10)

# No test lasts longer.
MAX_LEFT_H = READING_ELAPSED.high / SECONDS_PER_HOUR


@dataclass(frozen=True)
class RunProgress:
    """How far a run is. Times are aware.

    next_due_at is when the next reading is due, overdue says that it is late. counted_ah is the
    charge counted so far from the readings that are not struck. questions are about readings that
    can hardly be, as long as nobody answered.
    """

    run_id: int
    battery_id: int
    battery_name: str
    state: str
    started_at: datetime
    as_of: datetime
    elapsed_h: float
    counted_ah: float
    next_due_at: datetime
    overdue: bool
    questions: tuple[ReadingQuestion, ...]


@dataclass(frozen=True)
class RunningReport(RunProgress):
    """The state of a run with its expected end, which lies between *_end with 90 %.

    expanded_ah is what the meter may have counted wrong (95 %); what the load did between two
    readings comes on top, and is judged at the end.
    """

    expanded_ah: float
    mean_current_a: float | None
    early_end: datetime | None
    middle_end: datetime | None
    late_end: datetime | None
    guess_words: str
    warnings: tuple[Finding, ...]
    hours: tuple[float, ...]
    counted: tuple[float, ...]
    expected_low_ah: float
    expected_middle_ah: float
    expected_high_ah: float


def running_report(
    run: Run,
    battery_name: str,
    about: BatteryDetails,
    meter: MeterDetails,
    readings: RunColumns,
    guess: ExpectedCapacity,
    now: datetime,
) -> RunningReport:
    """Report on a run."""
    counting = readings.counting
    hours, counted, mean = _count(counting, meter)
    progress = run_progress(run, battery_name, about, meter, readings, now)
    total = progress.counted_ah
    ends: list[datetime | None] = [None, None, None]
    if mean:
        last_at, capacities = counting.moment(-1), (guess.low_ah, guess.middle_ah, guess.high_ah)
        # What has already been drawn cannot be in the future of the last reading.
        left_h = [max(0.0, capacity - total) / mean for capacity in capacities]
        # With as good as no load the end would lie behind all dates.
        if max(left_h) <= MAX_LEFT_H:
            ends = [last_at + timedelta(hours=one) for one in left_h]
    return RunningReport(
        **vars(progress),
        expanded_ah=_meter_part(meter, total, hours),
        mean_current_a=mean,
        early_end=ends[0],
        middle_end=ends[1],
        late_end=ends[2],
        guess_words=guess.words,
        warnings=tuple(_warnings(run, about, meter, counting, progress)),
        hours=tuple(hours.tolist()),
        counted=tuple(counted.tolist()),
        expected_low_ah=guess.low_ah,
        expected_middle_ah=guess.middle_ah,
        expected_high_ah=guess.high_ah,
    )


def run_progress(
    run: Run,
    battery_name: str,
    about: BatteryDetails,
    meter: MeterDetails,
    readings: RunColumns,
    now: datetime,
) -> RunProgress:
    """How far a run is, without what a report says of its end."""
    counting = readings.counting
    _, counted, _ = _count(counting, meter)
    noted = len(counting) > 0
    begun = counting.moment(0) if noted else run.details.started_at
    every = timedelta(minutes=run.details.reading_every_min)
    next_due = counting.moment(-1) + every if noted else run.details.started_at
    return RunProgress(
        run_id=run.id,
        battery_id=run.battery_id,
        battery_name=battery_name,
        state=run.state.value,
        started_at=run.details.started_at.astimezone(run.details.zone),
        as_of=now,
        elapsed_h=max(0.0, (now - begun).total_seconds() / SECONDS_PER_HOUR),
        counted_ah=float(counted[-1]) if noted else 0.0,
        next_due_at=next_due,
        overdue=run.state is RunState.RUNNING and now > next_due + LATE_SHARE * every,
        questions=questions_about(counting, about),
    )


def _off(amps: Floats, meter: MeterDetails) -> NDArray[np.bool_]:
    """Where the load was off: a small share of its peak, and no more than the meter's own zero.

    A base load may be a small share; what the meter can tell from nothing is a load.
    """
    peak = float(amps.max()) if amps.size else 0.0
    rest: NDArray[np.bool_] = amps <= min(ON_SHARE * peak, meter.rest_a)
    return rest


def _count(counting: RunColumns, meter: MeterDetails) -> tuple[Floats, Floats, float | None]:
    """Hours since the first and Ah counted, at each reading, and the mean current (A).

    The mean is that under load; of a load that turns to and fro, its pauses belong to it.
    """
    if not len(counting):
        return np.zeros(0), np.zeros(0), None
    hours = counting.seconds_since(0) / SECONDS_PER_HOUR
    amps = np.abs(counting.current_a)
    steps = np.diff(hours) * (amps[1:] + amps[:-1]) / 2
    counted = np.concatenate(([0.0], np.cumsum(steps)))
    if turns_to_and_fro(amps):
        return hours, counted, float(counted[-1] / (hours[-1] - hours[0]))
    loaded = amps[~_off(amps, meter)]
    return hours, counted, float(loaded.mean()) if loaded.size else None


def _meter_part(meter: MeterDetails, total_ah: float, hours: Floats) -> float:
    """Half of the 95 % interval that the meter alone gives the count, in Ah."""
    if not total_ah:
        return 0.0
    return combine(meter_lines(meter, total_ah, float(hours[-1]))).expanded_ah


def _warnings(
    run: Run,
    about: BatteryDetails,
    meter: MeterDetails,
    counting: RunColumns,
    progress: RunProgress,
) -> list[Finding]:
    found: list[Finding] = []
    if len(counting) and counting.moment(0) - run.details.started_at > LATE:
        words = say(
            "The first reading came long after the start. The count begins with that reading and "
            "leaves out what flowed before."
        )
        found.append(Finding("late_first", words))
    if (counting.current_a > 0).any() and (counting.current_a < 0).any():
        words = say("The current changes direction: is something charging the battery?")
        found.append(Finding("two_signs", words))
    if progress.overdue:
        words = say("A reading is overdue: note it now, with its own time.")
        found.append(Finding("missed", words))
    if not len(counting):
        return found
    amps = np.abs(counting.current_a)
    off = _off(amps, meter)
    # What is asked about, or was meant, is not told once more.
    told = {"odd_current"} if counting.meant[-1] else set()
    for one in progress.questions:
        if one.reading_id == counting.ids[-1]:
            told |= {"odd_voltage"} if one.field == VOLTAGE else {"odd_current", "drift"}
    # Less current lifts the voltage by itself.
    eased = len(amps) > 1 and amps[-1] < (1 - DRIFT_SHARE) * amps[-2]
    on = not off[-1] and not eased
    seen = (*_of_current(amps, off), *_of_voltage(about, counting, loaded=on))
    found += [one for one in seen if one.code not in told]
    warm = float(counting.temperature_c[-1])
    if not np.isnan(warm) and not COLD_C <= warm <= HOT_C:
        words = say(
            "The battery is at {temperature:.0f}, outside {range:.0f}.",
            temperature=Celsius(warm),
            range=CelsiusRange(COLD_C, HOT_C),
        )
        found.append(Finding("temperature", words))
    return found


def _of_current(amps: Floats, off: NDArray[np.bool_]) -> list[Finding]:
    """What the currents say, given where the load was off."""
    found = []
    stops = int(np.count_nonzero(~off[:-1] & off[1:]))
    if off[-1]:
        words = say("The load is off. If the battery cut off, end the test.")
        found.append(Finding("load_off", words))
    elif stops:
        words = say(
            "The load has switched off {stops} times: does a thermostat switch it?", stops=stops
        )
        found.append(Finding("cycling", words))
    drifted = abs(amps[-1] - amps[0]) > DRIFT_SHARE * amps[0]
    if drifted and not off[-1] and not off[0] and not turns_to_and_fro(amps):
        words = say(
            "The current went from {first_a:.3g} A to {newest_a:.3g} A.",
            first_a=amps[0],
            newest_a=amps[-1],
        )
        found.append(Finding("drift", words))
    before = amps[:-1]
    odd = len(amps) >= 3 and amps[-1] > max(3 * float(np.median(before)), 1.5 * float(before.max()))
    if odd and not off[-1]:
        words = say("{newest_a:.4g} A does not fit the readings before it.", newest_a=amps[-1])
        found.append(Finding("odd_current", words))
    return found


def _of_voltage(about: BatteryDetails, counting: RunColumns, *, loaded: bool) -> list[Finding]:
    newest_v = float(counting.voltage_v[-1])
    if np.isnan(newest_v):
        return []
    found = []
    empty_v = about.cut_off_v or about.empty_v
    if newest_v <= empty_v * (1 + NEAR_EMPTY_SHARE):
        text = _CLOSE_TO_EMPTY if newest_v > empty_v else _EMPTY
        words = say(text, newest_v=newest_v, empty_v=empty_v)
        found.append(Finding("near_empty", words))
    volts = counting.voltage_v[np.isfinite(counting.voltage_v)]
    if len(volts) > 1 and volts[-1] > volts[-2] * (1 + ODD_VOLTAGE_SHARE) and loaded:
        words = say(
            "The voltage rose from {before_v:.2f} V to {newest_v:.2f} V under load.",
            before_v=float(volts[-2]),
            newest_v=float(volts[-1]),
        )
        found.append(Finding("odd_voltage", words))
    return found
