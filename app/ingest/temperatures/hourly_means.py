"""From logged temperatures to one mean an hour, with what is wrong about them named."""

from array import array
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.message import Celsius, joined, say, say_plural, transformed
from app.domain.quantity import PLACE_TEMPERATURE
from app.domain.temperature_file import LogAnswers, TemperatureUnit
from app.domain.temperature_log import HOURS_A_DAY, HourlyTemperatures
from app.domain.units.time_units import DAYS_PER_YEAR, SECONDS_PER_DAY, SECONDS_PER_HOUR
from app.ingest.numbers import Floats
from app.ingest.temperatures.temperature_reader import LoggedTemperatures

# What some sensors send instead of a temperature: when they wake, and when a wire is off (common
# practice).
SENSOR_CODES = (85.0, -127.0)
# Above it a place is named: 95 °F is 35 °C.
HOT_C = 60.0
STUCK_S = 72 * SECONDS_PER_HOUR
STUCK_READINGS = 10
MIN_GAP_S = 3 * SECONDS_PER_HOUR
MAX_INTERVAL_S = 25 * SECONDS_PER_HOUR
MAX_YEARS = 30
_SHOWN = 3


@dataclass(frozen=True)
class ExaminedLog:
    """The hours of a log, None while a question is open; said and gaps are sentences."""

    hourly: HourlyTemperatures | None
    said: tuple[str, ...]
    gaps: tuple[str, ...]
    stuck: tuple[str, ...]
    problems: tuple[FieldError, ...]


def examine(log: LoggedTemperatures, answers: LogAnswers) -> ExaminedLog:
    """Look at the whole log, then take the mean of each hour.

    Questions: a unit that nobody told, values that no place has, a place too hot to be true.
    Raises InvalidInput for a log too long or too sparse to tell hours.
    """
    since, celsius, said = _in_order(log)
    since, celsius, problems = _possible(log, since, celsius, answers)
    problems += _unit_questions(log, celsius, answers)
    kept, stuck = _stuck(log.begin, since, celsius)
    if answers.leave_out_stuck and stuck:
        since, celsius = since[kept], celsius[kept]
    if len(since) < 2:
        allowed_count = say("at least two that count")
        raise InvalidInput.because(say("temperatures"), len(since), allowed_count, "file")
    interval = float(np.median(np.diff(since)))
    _refuse_length(log.begin, since, interval)
    allowed = max(MIN_GAP_S, 2 * interval)
    hourly = _hourly(log.begin, since, celsius, allowed)
    said.append(_summary(log.begin, since, celsius, interval, hourly.known_h))
    gaps = _gaps(log.begin, since, allowed)
    return ExaminedLog(
        None if problems else hourly, (*log.said, *said), gaps, stuck, tuple(problems)
    )


def _summary(begin: datetime, since: Floats, celsius: Floats, interval: float, known_h: int) -> str:
    own_h = len(np.unique(_hour_numbers(begin, since)))
    words = say(
        "{count:,} temperatures from {first} to {last}, usually one every {length}. They go from "
        "{low:.1f} to {high:.1f}.",
        count=len(since),
        first=_moment(begin, since[0]),
        last=_moment(begin, since[-1]),
        length=_length(interval),
        low=Celsius(celsius.min()),
        high=Celsius(celsius.max()),
    )
    own = say_plural("{count:,} hour has values.", "{count:,} hours have values.", own_h)
    if known_h <= own_h:
        return joined(" ", (words, own))
    between = say_plural(
        "{count:,} hour without a value is estimated from the values before and after it.",
        "{count:,} hours without a value are estimated from the values before and after them.",
        known_h - own_h,
    )
    return joined(" ", (words, own, between))


def _in_order(log: LoggedTemperatures) -> tuple[Floats, Floats, list[str]]:
    """The log by its times; a clock that went back is said."""
    back = np.flatnonzero(np.diff(log.since_s) < 0)
    if not back.size:
        return log.since_s, log.celsius, []
    largest = float(-np.diff(log.since_s).min())
    where, length = _moment(log.begin, log.since_s[int(back[0])]), _length(largest)
    said = say_plural(
        "The clock goes back once, first after {moment}, by up to {length}; hours that were "
        "logged twice are averaged.",
        "The clock goes back {count} times, first after {moment}, by up to {length}; hours "
        "that were logged twice are averaged.",
        back.size,
        moment=where,
        length=length,
    )
    order = np.argsort(log.since_s, kind="stable")
    return log.since_s[order], log.celsius[order], [said]


def _possible(
    log: LoggedTemperatures, since: Floats, celsius: Floats, answers: LogAnswers
) -> tuple[Floats, Floats, list[FieldError]]:
    """Without what no place has; a question where the owner did not say so."""
    out = (celsius < PLACE_TEMPERATURE.low) | (celsius > PLACE_TEMPERATURE.high)
    count = int(np.count_nonzero(out))
    if not count:
        return since, celsius, []
    first = int(np.flatnonzero(out)[0])
    problems = []
    if not answers.leave_out_impossible:
        codes = np.isclose(celsius[out][:, None], SENSOR_CODES).any(axis=1)
        moment = _moment(log.begin, since[first])
        where = (
            say("temperature of {moment}", moment=moment)
            if count == 1
            else say("temperature of {moment} and {count:,} more", moment=moment, count=count - 1)
        )
        allowed = PLACE_TEMPERATURE.allowed
        todo = (
            say(
                "{range} (failed sensors send 85 and −127); leave these out, or correct the file",
                range=allowed,
            )
            if codes.any()
            else say("{range}; leave these out, or correct the file", range=allowed)
        )
        given = transformed(say("{temperature:g}", temperature=Celsius(celsius[first])), truncate)
        problems.append(FieldError(where, given, todo, "leave_out_impossible"))
    return since[~out], celsius[~out], problems


def _unit_questions(
    log: LoggedTemperatures, celsius: Floats, answers: LogAnswers
) -> list[FieldError]:
    if not celsius.size:
        return []
    span = say("{low:g} to {high:g}", low=celsius.min(), high=celsius.max())
    if log.unit is None:
        return [
            FieldError(say("unit of the temperatures"), span, say("°C or °F to be chosen"), "unit")
        ]
    hot = celsius.max()
    if log.unit is TemperatureUnit.CELSIUS and hot > HOT_C and not answers.hot_is_real:
        allowed = say(
            "up to {limit_c:.0f} °C where a battery lives; choose °F if the values are °F (then "
            "{hottest_f:g} °F is {hottest_c:.0f} °C), or confirm that it gets so hot there",
            limit_c=HOT_C,
            hottest_f=hot,
            hottest_c=(hot - 32) / 1.8,
        )
        return [FieldError(say("unit of the temperatures"), span + " °C", allowed, "hot_is_real")]
    return []


def _stuck(
    begin: datetime, since: Floats, celsius: Floats
) -> tuple[NDArray[np.bool_], tuple[str, ...]]:
    """Which values are not part of a stretch that stays the same for days; and a sentence each."""
    edges = np.flatnonzero(np.diff(celsius) != 0) + 1
    starts, ends = np.concatenate(([0], edges)), np.concatenate((edges, [len(celsius)]))
    keep, words = np.ones(len(celsius), bool), []
    for start, end in zip(starts, ends, strict=True):
        lasted = float(since[end - 1] - since[start]) if end > start else 0.0
        if lasted >= STUCK_S and end - start >= STUCK_READINGS:
            keep[start:end] = False
            words.append(
                say(
                    "From {first} to {last} it is always {temperature:g}: is the sensor stuck?",
                    first=_moment(begin, since[start]),
                    last=_moment(begin, since[end - 1]),
                    temperature=Celsius(celsius[start]),
                )
            )
    more = [say("This happens {count} times.", count=len(words))] if len(words) > _SHOWN else []
    return keep, (*words[:_SHOWN], *more)


def _refuse_length(begin: datetime, since: Floats, interval: float) -> None:
    if interval > MAX_INTERVAL_S:
        allowed = say("a temperature at least once a day")
        found = say("one every {length}", length=_length(interval))
        raise InvalidInput.because(say("temperatures"), found, allowed, "file")
    years = float(since[-1] - since[0]) / SECONDS_PER_DAY / DAYS_PER_YEAR
    if years > MAX_YEARS:
        span = say(
            "{first} to {last}", first=_moment(begin, since[0]), last=_moment(begin, since[-1])
        )
        allowed = say("at most {most} years", most=MAX_YEARS)
        raise InvalidInput.because(say("time"), span, allowed, "file")


def _hourly(begin: datetime, since: Floats, celsius: Floats, allowed: float) -> HourlyTemperatures:
    """Means of the hours; one without a value lies between its neighbours if these are near."""
    first = begin + timedelta(seconds=float(since[0]))
    midnight = first.replace(hour=0, minute=0, second=0, microsecond=0)
    at = since - since[0] + (first - midnight).total_seconds()
    days = int(at[-1] // SECONDS_PER_DAY) + 1
    hour = _hour_numbers(begin, since)
    count = np.bincount(hour, minlength=days * HOURS_A_DAY)
    total = np.bincount(hour, weights=celsius, minlength=days * HOURS_A_DAY)
    means = np.full(len(count), np.nan)
    np.divide(total, count, out=means, where=count > 0)
    centre = (np.arange(len(count)) + 0.5) * SECONDS_PER_HOUR
    after = np.clip(np.searchsorted(at, centre), 1, len(at) - 1)
    near = (at[after] - at[after - 1] <= allowed) & (centre > at[0]) & (centre < at[-1])
    between = (count == 0) & near
    means[between] = np.interp(centre[between], at, celsius)
    packed = array("d")
    packed.frombytes(means.tobytes())
    return HourlyTemperatures(midnight.date(), packed)


def _hour_numbers(begin: datetime, since: Floats) -> NDArray[np.int64]:
    """The hour of each value, counted from the midnight before the first."""
    first = begin + timedelta(seconds=float(since[0]))
    midnight = first.replace(hour=0, minute=0, second=0, microsecond=0)
    at = since - since[0] + (first - midnight).total_seconds()
    hours: NDArray[np.int64] = (at // SECONDS_PER_HOUR).astype(np.int64)
    return hours


def _gaps(begin: datetime, since: Floats, allowed: float) -> tuple[str, ...]:
    """The longest gaps, and how many there are in all."""
    steps = np.diff(since)
    wide = np.flatnonzero(steps > allowed)
    longest = wide[np.argsort(-steps[wide], kind="stable")][:_SHOWN]
    words = [
        say(
            "Nothing from {first} to {last} ({length}).",
            first=_moment(begin, since[i]),
            last=_moment(begin, since[i + 1]),
            length=_length(float(steps[i])),
        )
        for i in sorted(longest)
    ]
    if len(wide) > _SHOWN:
        words.append(
            say(
                "{count} gaps in all, together {length}; these are the longest.",
                count=len(wide),
                length=_length(float(steps[wide].sum())),
            )
        )
    return tuple(words)


def _moment(begin: datetime, seconds: float) -> datetime:
    return begin + timedelta(seconds=float(seconds))


def _length(seconds: float) -> str:
    if seconds >= 2 * SECONDS_PER_DAY:
        return say("{days:.0f} days", days=seconds / SECONDS_PER_DAY)
    if seconds >= 2 * SECONDS_PER_HOUR:
        return say("{hours:.0f} h", hours=seconds / SECONDS_PER_HOUR)
    if seconds >= 60:
        return say("{minutes:.0f} min", minutes=seconds / 60)
    return say("{seconds:.0f} s", seconds=seconds)
