"""How a test was done and under which conditions, for somebody who was not there."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from app.analysis.counting.delivered import Delivered
from app.analysis.evidence.result import Result
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.readings import ON_SHARE
from app.domain.units.time_units import SECONDS_PER_HOUR


@dataclass(frozen=True)
class Procedure:
    """One test as it was done. Voltages are terminal voltages under load, times local.

    cut_off_v is None where none was set; empty_v is where the battery counts as empty then.
    Currents and temperatures are those of the readings that count, lowest and highest. Of a test
    of which only the result was noted nothing is known but the day, and what the owner noted.
    """

    started_at: datetime
    ended_at: datetime | None
    charge_condition: str
    end_reason: str
    end_noted: bool
    load: str
    cut_off_v: float | None
    empty_v: float
    last_voltage_v: float | None
    mean_current_a: float | None
    lowest_current_a: float | None
    highest_current_a: float | None
    readings_counted: int
    usual_step_h: float | None
    longest_step_h: float | None
    temperature_c: float | None
    temperature_source: str
    lowest_temperature_c: float | None
    highest_temperature_c: float | None
    ambient_c: float | None

    @property
    def utc_offset(self) -> str:
        return self.started_at.isoformat()[-6:]


def procedure_of(details: DischargeDetails, about: BatteryDetails, result: Result) -> Procedure:
    """Gather what was entered and what the readings say of the run."""
    course = result.course
    bare = Procedure(
        started_at=details.started_local,
        ended_at=None,
        charge_condition=details.charge_condition.label,
        end_reason=details.end_reason.label,
        end_noted=False,
        load=details.load,
        cut_off_v=details.cut_off_v or about.cut_off_v,
        empty_v=about.empty_v,
        last_voltage_v=result.delivered.last_voltage_v,
        mean_current_a=result.delivered.mean_current_a,
        lowest_current_a=None,
        highest_current_a=None,
        readings_counted=0,
        usual_step_h=None,
        longest_step_h=None,
        temperature_c=result.temperature_c,
        temperature_source=result.temperature_source,
        lowest_temperature_c=None,
        highest_temperature_c=None,
        ambient_c=details.ambient_c,
    )
    return bare if course is None else _with_course(bare, details, course)


def _with_course(bare: Procedure, details: DischargeDetails, course: Delivered) -> Procedure:
    """What the readings add to it."""
    amps = course.current_a
    # What was read before the load came on, or while it was off, is no current of the load.
    loaded = amps[amps > ON_SHARE * course.mean_current_a]
    steps = np.diff(course.time_s) / SECONDS_PER_HOUR
    rows = slice(course.first_row, course.last_row + 1)
    warmth = np.asarray(details.readings.temperature_c, dtype=np.float64)[rows]
    warmth = warmth[np.isfinite(warmth)]
    return replace(
        bare,
        started_at=details.started_local + timedelta(seconds=course.start_s),
        ended_at=details.started_local + timedelta(seconds=course.end_s),
        end_noted=course.end_noted,
        lowest_current_a=float(loaded.min()),
        highest_current_a=float(loaded.max()),
        readings_counted=len(amps),
        usual_step_h=float(np.median(steps)),
        longest_step_h=float(steps.max()),
        lowest_temperature_c=float(warmth.min()) if warmth.size else None,
        highest_temperature_c=float(warmth.max()) if warmth.size else None,
    )
