"""Planning a capacity test: how long it will run, when to start, what it will be able to show."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from app.analysis.battery.expected_capacity import ExpectedCapacity
from app.analysis.evidence.uncertainty import CHARGE_LIMIT, NOTED_END_LIMIT_S, meter_lines
from app.analysis.fade.fade_power import found_between_two
from app.analysis.statistics.budget import Budget, combine, estimated, within
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterDetails
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.quantity import LOAD_CURRENT
from app.domain.units.time_units import SECONDS_PER_HOUR

WAKES_H, SLEEPS_H = 7.0, 22.0
MAX_AWAKE_H = SLEEPS_H - WAKES_H
# How much a household load wanders between two readings (common practice).
LOAD_WANDERS = 0.02
STEP = timedelta(minutes=30)
# The slowest rate by which lead batteries are rated is that of 100 h; twice that is no test.
MAX_HOURS = 200.0


@dataclass(frozen=True)
class Plan:
    """A test as planned. Times are local, aware."""

    current_a: float
    c_rate: float
    guess: ExpectedCapacity
    run_low_h: float
    run_middle_h: float
    run_high_h: float
    start_at: datetime
    end_early: datetime
    end_late: datetime
    ends_awake: bool
    reading_every_min: float
    readings_at: tuple[datetime, ...]
    uncertainty: Budget
    detectable_percent: float
    words: str


def plan_test(
    guess: ExpectedCapacity,
    current_a: float,
    rated_ah: float,
    meter: MeterDetails,
    day: datetime,
    *,
    reading_every_min: float = 60.0,
    start_at: datetime | None = None,
    end_before: datetime | None = None,
) -> Plan:
    """Plan a test at a steady current (A) on the local day given.

    Without a start the one is taken whose end falls best into waking hours (7 to 22), or before
    end_before where that is given. Raises InvalidInput for a current at which it never ends.
    """
    _refuse_endless(guess, current_a)
    low, middle, high = (ah / current_a for ah in (guess.low_ah, guess.middle_ah, guess.high_ah))
    start = start_at or _best_start(day, low, high, end_before)
    early, late = start + timedelta(hours=low), start + timedelta(hours=high)
    every = timedelta(minutes=reading_every_min)
    count = math.ceil(timedelta(hours=high) / every)
    is_one_day = high <= MAX_AWAKE_H
    awake = is_one_day and _awake(early) and _awake(late)
    budget = expected_uncertainty(guess.middle_ah, current_a, meter, reading_every_min / 60)
    return Plan(
        current_a=current_a,
        c_rate=current_a / rated_ah,
        guess=guess,
        run_low_h=low,
        run_middle_h=middle,
        run_high_h=high,
        start_at=start,
        end_early=early,
        end_late=late,
        ends_awake=awake,
        reading_every_min=reading_every_min,
        readings_at=tuple(start + i * every for i in range(count + 1)),
        uncertainty=budget,
        detectable_percent=100 * found_between_two(budget.independent_ah) / rated_ah,
        words=_words(awake, end_before, late) if is_one_day else _too_long(guess),
    )


def _refuse_endless(guess: ExpectedCapacity, current_a: float) -> None:
    longest_h = guess.high_ah / current_a
    if longest_h > MAX_HOURS:
        raise InvalidInput.because(
            LOAD_CURRENT.label,
            say(
                "{current_a:g} A, which may run for {longest_h:.3g} h",
                current_a=current_a,
                longest_h=longest_h,
            ),
            say(
                "at least {least_a:.2g} A, for a test of {most_h:g} h at most",
                least_a=guess.high_ah / MAX_HOURS,
                most_h=MAX_HOURS,
            ),
            "current_a",
        )


def expected_uncertainty(
    capacity_ah: float, current_a: float, meter: MeterDetails, every_h: float
) -> Budget:
    """The budget that a test of this kind will have, if it goes as planned and its end is noted."""
    hours = capacity_ah / current_a
    intervals = max(1.0, hours / every_h)
    wandering = LOAD_WANDERS * current_a * every_h * math.sqrt(intervals / 24)
    lines = (
        *meter_lines(meter, capacity_ah, hours),
        estimated("sampling", say("current between the readings"), wandering, "Ah", 1.0),
        within(
            "end",
            say("moment of the end"),
            current_a * NOTED_END_LIMIT_S / SECONDS_PER_HOUR,
            "Ah",
            1.0,
        ),
        within(
            "charge",
            say("completeness of the charge"),
            100 * CHARGE_LIMIT[ChargeCondition.FULL_RESTED],
            "%",
            capacity_ah / 100,
        ),
    )
    return combine(lines)


def _best_start(
    day: datetime, low_h: float, high_h: float, end_before: datetime | None
) -> datetime:
    """The half hour of the day from which the end lies best; the earlier of equals."""
    if end_before is not None:
        latest = end_before - timedelta(hours=high_h)
        return latest.replace(minute=0 if latest.minute < 30 else 30, second=0, microsecond=0)
    midnight = day.replace(hour=0, minute=0, second=0, microsecond=0)
    starts = [midnight + i * STEP for i in range(10, 45)]

    def asleep(start: datetime) -> float:
        begin, end = start + timedelta(hours=low_h), start + timedelta(hours=high_h)
        steps = max(1, math.ceil((end - begin) / STEP))
        moments = [begin + (end - begin) * i / steps for i in range(steps + 1)]
        dark = sum(not _awake(moment) for moment in moments) / len(moments)
        return dark + (0.0 if _awake(start) else 0.25)

    return min(starts, key=asleep)


def _awake(moment: datetime) -> bool:
    return WAKES_H <= moment.hour + moment.minute / 60 <= SLEEPS_H


def _too_long(guess: ExpectedCapacity) -> str:
    """Nobody stays awake beside such a test; the load that fits is rounded up to half amps."""
    return say(
        "This test may run for longer than you are awake ({most:g} h, from 7:00 to 22:00). Do not "
        "leave it unattended: plan a load of at least {least_a:.3g} A, which fits one day, if the "
        "battery's maker allows it.",
        most=MAX_AWAKE_H,
        least_a=math.ceil(2 * guess.high_ah / MAX_AWAKE_H) / 2,
    )


def _words(awake: bool, end_before: datetime | None, latest: datetime) -> str:
    if end_before is not None:
        return say(
            "If you start then, it ends before {end_before:%H:%M}, even at the upper end of the "
            "range below.",
            end_before=end_before,
        )
    if awake:
        return say(
            "If you start then, it ends while you are awake, for every capacity in the range below."
        )
    return say(
        "The end may fall into the night (as late as {latest:%H:%M}): a heavier load "
        "would shorten the test. Do not leave it unattended; stop it rather than sleep "
        "beside it.",
        latest=latest,
    )
