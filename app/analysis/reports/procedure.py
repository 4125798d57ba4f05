"""How a test was done and under which conditions, for somebody who was not there."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from app.analysis.evidence.result import Result
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.readings import ON_SHARE
from app.domain.units.time_units import SECONDS_PER_HOUR


@dataclass(frozen=True)
class Procedure:
    """One test as it was done. Voltages are terminal voltages under load, times local.

    cut_off_v is None where none was set; empty_v is where the battery counts as empty then.
    Currents and temperatures are those of the readings that count, lowest and highest.
    """

    started_at: datetime
    ended_at: datetime
    charge_condition: str
    end_reason: str
    end_noted: bool
    load: str
    cut_off_v: float | None
    empty_v: float
    last_voltage_v: float | None
    mean_current_a: float
    lowest_current_a: float
    highest_current_a: float
    readings_counted: int
    usual_step_h: float
    longest_step_h: float
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
    delivered = result.delivered
    amps = delivered.current_a
    # What was read before the load came on, or while it was off, is no current of the load.
    loaded = amps[amps > ON_SHARE * delivered.mean_current_a]
    steps = np.diff(delivered.time_s) / SECONDS_PER_HOUR
    rows = slice(delivered.first_row, delivered.last_row + 1)
    warmth = np.asarray(details.readings.temperature_c, dtype=np.float64)[rows]
    warmth = warmth[np.isfinite(warmth)]
    return Procedure(
        started_at=details.started_local + timedelta(seconds=delivered.start_s),
        ended_at=details.started_local + timedelta(seconds=delivered.end_s),
        charge_condition=details.charge_condition.label,
        end_reason=details.end_reason.label,
        end_noted=delivered.end_noted,
        load=details.load,
        cut_off_v=details.cut_off_v or about.cut_off_v,
        empty_v=about.empty_v,
        last_voltage_v=delivered.last_voltage_v,
        mean_current_a=delivered.mean_current_a,
        lowest_current_a=float(loaded.min()),
        highest_current_a=float(loaded.max()),
        readings_counted=len(amps),
        usual_step_h=float(np.median(steps)),
        longest_step_h=float(steps.max()),
        temperature_c=result.temperature_c,
        temperature_source=result.temperature_source,
        lowest_temperature_c=float(warmth.min()) if warmth.size else None,
        highest_temperature_c=float(warmth.max()) if warmth.size else None,
        ambient_c=details.ambient_c,
    )
