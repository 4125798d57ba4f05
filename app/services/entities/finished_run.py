"""What a running test becomes when it has ended."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from app.analysis.test_day.running import LATE
from app.domain.entities.discharge import DischargeDetails, EndReason
from app.domain.entities.run import Run, RunReading
from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.units.time_units import SECONDS_PER_HOUR


def as_test(
    run: Run, noted: Sequence[RunReading], end_reason: EndReason, ended_at: datetime | None
) -> DischargeDetails:
    """The run's readings as a test; it begins with the first. Raises InvalidInput for too few."""
    counting = [one.given for one in noted if not one.struck_reason]
    if len(counting) < 2:
        allowed = say("at least two readings")
        raise InvalidInput.because(say("readings"), len(counting), allowed, "readings")
    begun = counting[0].at
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
