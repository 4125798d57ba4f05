"""What a running test becomes when it has ended."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from app.analysis.test_day.running import LATE
from app.domain.entities.discharge import DischargeDetails, EndReason
from app.domain.entities.run import Run, RunReading
from app.domain.errors import FieldError, InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.quantity import READING_ELAPSED
from app.domain.readings import Readings
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR


def as_test(
    run: Run, noted: Sequence[RunReading], end_reason: EndReason, ended_at: datetime | None
) -> DischargeDetails:
    """The run's readings as a test; it begins with the first. Raises InvalidInput for too few."""
    counting = [one.given for one in noted if not one.struck_reason]
    if len(counting) < 2:
        allowed = say("at least two readings")
        raise InvalidInput.because(say("readings"), len(counting), allowed, "readings")
    begun = counting[0].at
    _refuse_wrong_clock(run, begun, counting[-1].at)
    counter = [one.counted_ah for one in counting]
    ended_h = None if ended_at is None else (ended_at - begun).total_seconds() / SECONDS_PER_HOUR
    return DischargeDetails(
        started_at=begun,
        utc_offset_minutes=run.details.utc_offset_minutes,
        charge_condition=run.details.charge_condition,
        end_reason=end_reason,
        readings=Readings.of(
            [(one.at - begun).total_seconds() for one in counting],
            [one.current_a for one in counting],
            [one.voltage_v for one in counting],
            [one.temperature_c for one in counting],
            [one.gauge_percent for one in counting],
            None if counter == [None] * len(counter) else counter,
        ),
        meter_id=run.details.meter_id,
        ended_after_h=ended_h,
        ambient_c=run.details.ambient_c,
        load=run.details.load,
        notes=run.details.notes,
        source=_source(begun - run.details.started_at),
    )


def _refuse_wrong_clock(run: Run, first: datetime, last: datetime) -> None:
    """A clock that was set right during a test, such as from 1970, makes years of it, and what is
    kept must fit the files that bring it back."""
    if READING_ELAPSED.holds((last - first).total_seconds()):
        return
    zone = run.details.zone
    raise InvalidInput.because(
        say("readings"),
        say("{first} to {last}", first=first.astimezone(zone), last=last.astimezone(zone)),
        say(
            "{days:.0f} days from the first to the last at most: strike out the readings that a "
            "wrong clock dated",
            days=READING_ELAPSED.high / SECONDS_PER_DAY,
        ),
        "readings",
    )


def end_by_the_clock(
    problems: Sequence[FieldError], run: Run, details: DischargeDetails
) -> tuple[FieldError, ...]:
    """What is wrong with a test that was to end, where its end is named by the hours: by the time
    of day, as it was typed."""
    zone, hours = run.details.zone, details.ended_after_h or 0.0
    begun = details.started_at
    said = FieldError(
        say("moment of the end"),
        say("{moment}", moment=(begun + timedelta(hours=hours)).astimezone(zone)),
        say(
            "a moment under load, from the second reading to soon after the last one ({last})",
            last=(begun + timedelta(seconds=details.readings.elapsed_s[-1])).astimezone(zone),
        ),
        "end_clock",
    )
    return tuple(said if one.field == "ended_after_h" else one for one in problems)


# How every such source begins.
NOTED_RUNNING = N_("noted while it ran")


# It is kept with the test: not in the language of whoever ends it.
def _source(before_first: timedelta) -> str:
    """Where the readings come from; what flowed before the first of them was not seen."""
    if before_first <= LATE:
        return say(NOTED_RUNNING)
    late_h = before_first / timedelta(hours=1)
    return say(
        "noted while it ran, the first reading {late_h:.2g} h after the start; the count leaves "
        "out what flowed before it",
        late_h=late_h,
    )
