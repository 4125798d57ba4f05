"""One capacity test: how it was done and what was read. Pages call it "capacity test"."""

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from enum import StrEnum

from app.domain.marks import N_
from app.domain.message import say
from app.domain.readings import Readings


class EndReason(StrEnum):
    """Why the discharge ended; the value is what is stored."""

    PROTECTION = "protection"
    CUT_OFF_VOLTAGE = "cut_off_voltage"
    GAUGE_RESERVE = "gauge_reserve"
    TIME = "time"
    LOAD = "load"
    UNKNOWN = "unknown"

    @property
    def label(self) -> str:
        return say(_END_LABELS[self])

    @property
    def claims_empty(self) -> bool:
        """Whether the owner says that the battery itself was empty."""
        return self in (EndReason.PROTECTION, EndReason.CUT_OFF_VOLTAGE)


class ChargeCondition(StrEnum):
    """How the battery was charged before the test."""

    FULL_RESTED = "full_rested"
    FULL = "full"
    NOT_FULL = "not_full"
    UNKNOWN = "unknown"

    @property
    def label(self) -> str:
        return say(_CHARGE_LABELS[self])

    @property
    def full(self) -> bool:
        return self in (ChargeCondition.FULL_RESTED, ChargeCondition.FULL)


_END_LABELS = {
    EndReason.PROTECTION: N_("the battery's protection switched it off"),
    EndReason.CUT_OFF_VOLTAGE: N_("the voltage fell to the cut-off voltage"),
    EndReason.GAUGE_RESERVE: N_("the gauge reached a percentage"),
    EndReason.TIME: N_("time ran out"),
    EndReason.LOAD: N_("the load switched off or gave up"),
    EndReason.UNKNOWN: N_("not known"),
}
_CHARGE_LABELS = {
    ChargeCondition.FULL_RESTED: N_("charged full, then rested an hour or more"),
    ChargeCondition.FULL: N_("charged full, not rested"),
    ChargeCondition.NOT_FULL: N_("not charged full"),
    ChargeCondition.UNKNOWN: N_("not known"),
}


@dataclass(frozen=True)
class DischargeDetails:
    """What the owner entered about one test.

    started_at is aware, in UTC; utc_offset_minutes is the offset it was entered in.
    ended_after_h is the moment of the end where the owner noted one, in hours after the first
    reading; cut_off_v is this test's own cut-off voltage where it differs from the battery's.
    left_out_reason says why the owner leaves the test out of the fade; empty where it counts.
    """

    started_at: datetime
    utc_offset_minutes: int
    charge_condition: ChargeCondition
    end_reason: EndReason
    readings: Readings
    meter_id: int | None = None
    ended_after_h: float | None = None
    cut_off_v: float | None = None
    ambient_c: float | None = None
    load: str = ""
    notes: str = ""
    source: str = "typed"
    assumptions: tuple[str, ...] = ()
    left_out_reason: str = ""

    @property
    def started_local(self) -> datetime:
        """The start on the clock of the place where it was entered."""
        return self.started_at.astimezone(timezone(timedelta(minutes=self.utc_offset_minutes)))


@dataclass(frozen=True)
class Discharge:
    """A stored capacity test."""

    id: int
    battery_id: int
    details: DischargeDetails
    version: int
