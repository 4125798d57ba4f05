"""One capacity test: how it was done and what was read. Pages call it "capacity test"."""

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from enum import StrEnum
from typing import Annotated

from app.domain import quantity as q
from app.domain.fields.common_fields import AMBIENT, CHARGE, CLOCK_OFFSET, LOAD, NOTES
from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
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

    started_at is aware, in UTC; utc_offset_minutes is the offset it was entered in. A test whose
    readings are empty is one of which only the result was noted: what a counter showed, and of its
    start only the day is known.
    """

    started_at: Annotated[
        datetime,
        Described(N_("Start"), "When the first reading was taken, in UTC.", asked=False, sent=True),
    ]
    utc_offset_minutes: Annotated[int, CLOCK_OFFSET]
    charge_condition: Annotated[ChargeCondition, CHARGE]
    end_reason: Annotated[
        EndReason,
        Described(
            N_("End reason"),
            "Why the discharge ended.",
            called=N_("why the test ended"),
            sent=True,
        ),
    ]
    readings: Readings
    meter_id: int | None = None
    ended_after_h: Annotated[
        float | None,
        Described(
            N_("Ended after"),
            "Moment of the end after the first reading, where the owner noted one.",
            q.ENDED_AFTER,
            computed=True,
            sent=True,
        ),
    ] = None
    cut_off_v: Annotated[
        float | None,
        Described(
            N_("Cut-off voltage"),
            "This test's own cut-off voltage, where it differs from the battery's.",
            q.CUT_OFF_VOLTAGE,
            sent=True,
        ),
    ] = None
    ambient_c: Annotated[float | None, AMBIENT] = None
    load: Annotated[str, LOAD] = ""
    notes: Annotated[str, NOTES] = ""
    source: Annotated[
        str, Described(N_("Source"), "Where the readings come from.", asked=False)
    ] = say("typed")
    assumptions: Annotated[
        tuple[str, ...],
        Described(
            N_("Assumptions"),
            "What was assumed when they were read: sentences.",
            asked=False,
        ),
    ] = ()
    left_out_reason: Annotated[
        str,
        Described(
            N_("Left out because"),
            "Why the owner leaves the test out of the fade; empty where it counts.",
            asked=False,
            sent=True,
        ),
    ] = ""
    counted_ah: Annotated[
        float | None,
        Described(
            N_("Amp-hours counted"),
            "What a counter showed at the end, of a test without readings.",
            q.COUNTED_CHARGE,
            sent=True,
            added_later=True,
        ),
    ] = None
    counted_wh: Annotated[
        float | None,
        Described(
            N_("Watt-hours counted"),
            "What a counter of energy showed at the end, of a test without readings.",
            q.COUNTED_ENERGY,
            sent=True,
            added_later=True,
        ),
    ] = None
    mean_voltage_v: Annotated[
        float | None,
        Described(
            N_("Mean voltage"),
            "The voltage by which watt-hours become amp-hours, of a test without readings.",
            q.MEAN_VOLTAGE,
            sent=True,
            added_later=True,
        ),
    ] = None
    duration_h: Annotated[
        float | None,
        Described(
            N_("It took"),
            "Hours from start to end, of a test without readings.",
            q.TEST_HOURS,
            sent=True,
            added_later=True,
        ),
    ] = None
    mean_current_a: Annotated[
        float | None,
        Described(
            N_("Mean current"),
            "What the load drew on average, of a test without readings.",
            q.LOAD_CURRENT,
            sent=True,
            added_later=True,
        ),
    ] = None
    last_voltage_v: Annotated[
        float | None,
        Described(
            N_("Last voltage"),
            "Terminal voltage under load at the end, of a test without readings.",
            q.LAST_VOLTAGE,
            sent=True,
            added_later=True,
        ),
    ] = None
    import_uid: Annotated[
        str,
        Described(
            N_("Import"),
            "Common to tests that came in together; empty where it came alone.",
            asked=False,
            added_later=True,
        ),
    ] = ""

    @property
    def is_only_result(self) -> bool:
        """Whether nothing but the result was noted."""
        return not len(self.readings)

    @property
    def started_local(self) -> datetime:
        """The start on the clock of the place where it was entered."""
        return self.started_at.astimezone(timezone(timedelta(minutes=self.utc_offset_minutes)))


# What is noted of a test without readings.
NOTED_FIELDS = (
    "counted_ah",
    "counted_wh",
    "mean_voltage_v",
    "duration_h",
    "mean_current_a",
    "last_voltage_v",
)


@dataclass(frozen=True)
class Discharge:
    """A stored capacity test."""

    id: int
    battery_id: int
    details: DischargeDetails
    version: int
