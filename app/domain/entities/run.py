"""A capacity test while it runs: its conditions, and the readings as they come in."""

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone, tzinfo
from enum import StrEnum
from typing import Annotated

from app.domain import quantity as q
from app.domain.entities.discharge import ChargeCondition
from app.domain.fields.common_fields import AMBIENT, CHARGE, CLOCK_OFFSET, LOAD, NOTES
from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.local_clock import LOCAL_CLOCK


class RunState(StrEnum):
    """Where a run stands; the value is what is stored."""

    RUNNING = "running"
    FINISHED = "finished"
    ABANDONED = "abandoned"


@dataclass(frozen=True)
class RunDetails:
    """How a run was begun. started_at is aware, in UTC, with the offset it was entered in."""

    started_at: Annotated[
        datetime, Described(N_("Start"), "When the load came on, in UTC.", asked=False)
    ]
    utc_offset_minutes: Annotated[int, CLOCK_OFFSET]
    charge_condition: Annotated[ChargeCondition, CHARGE]
    meter_id: int
    load: Annotated[str, LOAD] = ""
    reading_every_min: Annotated[
        float,
        Described(N_("Reading every"), "Time from one reading to the next.", q.READING_EVERY),
    ] = 60.0
    ambient_c: Annotated[float | None, AMBIENT] = None
    notes: Annotated[str, NOTES] = ""

    @property
    def zone(self) -> tzinfo:
        """The clock the run goes by: this machine's, where the run began by it.

        So a run goes on by the clock on the wall when that is set back or forward in the night.
        """
        offset = timedelta(minutes=self.utc_offset_minutes)
        local = self.started_at.astimezone(LOCAL_CLOCK).utcoffset()
        return LOCAL_CLOCK if local == offset else timezone(offset)


@dataclass(frozen=True)
class Run:
    """A stored run. discharge_id is the test it became; fed says whether a feed may write to it.

    course names it from its start, or from when it was taken up again, until it is settled. No
    other run ever has this name, not even one that gets the number of a deleted one.
    """

    id: int
    battery_id: int
    details: RunDetails
    state: RunState
    discharge_id: int | None
    fed: bool
    version: int
    course: str


@dataclass(frozen=True)
class ReadingGiven:
    """One reading as it comes in. at is aware, in UTC."""

    at: datetime
    current_a: float
    voltage_v: float | None = None
    temperature_c: float | None = None
    gauge_percent: float | None = None
    counted_ah: float | None = None

    @property
    def values(self) -> tuple[float | None, ...]:
        """What was read, whenever that was."""
        return (
            self.current_a,
            self.voltage_v,
            self.temperature_c,
            self.gauge_percent,
            self.counted_ah,
        )


@dataclass(frozen=True)
class RunReading:
    """A stored reading. struck_reason says why it does not count; empty where it does.

    meant says that its owner was asked about it and meant it as it stands.
    """

    id: int
    run_id: int
    given: ReadingGiven
    source: str
    struck_reason: str
    version: int
    meant: bool = False

    @property
    def is_changed(self) -> bool:
        """Whether it was ever anything else; an answer changes nothing of it."""
        return self.version > (2 if self.meant else 1)


@dataclass(frozen=True)
class FormerReading:
    """What a reading was until an edit replaced it."""

    reading_id: int
    given: ReadingGiven
    struck_reason: str
    replaced_at: datetime
