"""A doubt about a test: what can hardly be, what it could be instead, and what each gives."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from app.domain.chemistry import Chemistry
from app.domain.i18n.amounts import charge_said
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say
from app.domain.units.time_units import SECONDS_PER_HOUR

# What the charge is to be multiplied by where something was written in another unit, in words.
FACTORS = (
    (1 / 1000, N_("the currents are in mA")),
    (1 / 10, N_("the currents are a tenth")),
    (1 / 60, N_("the times are in the next smaller unit")),
    (1 / 3600, N_("the times are in seconds and not in hours")),
    (10.0, N_("the currents are ten times as much")),
    (1000.0, N_("the currents are in kA")),
)


class DoubtKind(StrEnum):
    """What a doubt is about; the value is what is kept with an answer."""

    CAPACITY = "capacity"
    CURRENT = "current"
    VOLTAGE = "voltage"
    LONE = "lone"
    START = "start"
    OVERLAP = "overlap"
    LOAD = "load"
    COUNTER = "counter"
    POWER = "power"
    GAUGE = "gauge"


@dataclass(frozen=True)
class Alternative:
    """One way to read it, in words, with what it gives (Ah; None where that stays or is not known).

    value is what the doubted number would be instead; as_it_stands is the answer "I meant it".
    """

    words: str
    charge_ah: float | None = None
    value: float | None = None
    as_it_stands: bool = False

    @property
    def sentence(self) -> str:
        if self.charge_ah is None:
            return say("{reading}?", reading=self.words)
        return say(
            "{reading}? then {charge}", reading=self.words, charge=charge_said(self.charge_ah)
        )


@dataclass(frozen=True)
class Doubt:
    """Something that can hardly be. row counts readings from 1, None for the whole test."""

    kind: DoubtKind
    row: int | None
    value: float
    alternatives: tuple[Alternative, ...]
    finding: str

    @property
    def sentence(self) -> str:
        """What was found, with every alternative and what it gives."""
        choices = joined("; ", (one.sentence for one in self.alternatives))
        return say("{finding} Possible meanings: {choices}.", finding=self.finding, choices=choices)


@dataclass(frozen=True)
class OtherTest:
    """A stored test of the same battery, with what it is called.

    Of one of which only the result was noted the day is known, and not when it ran; its current
    (A) may not be known either. charge_ah is that result.
    """

    name: str
    started_at: datetime
    duration_s: float | None
    mean_current_a: float | None
    charge_ah: float | None = None

    @property
    def drawn_ah(self) -> float | None:
        """What it drew, noted or followed."""
        if self.charge_ah is not None or self.duration_s is None or self.mean_current_a is None:
            return self.charge_ah
        return self.mean_current_a * self.duration_s / SECONDS_PER_HOUR


@dataclass(frozen=True)
class Known:
    """What a test is held against; None where nobody said. others are in the order of time.

    in_service_since is the beginning of that day where the test was. power_w is the power of each
    reading (W), where its file has one beside the current; ended_after_s the noted moment of the
    end.
    """

    rated_ah: float | None = None
    chemistry: Chemistry | None = None
    nominal_v: float | None = None
    cut_off_v: float | None = None
    started_at: datetime | None = None
    in_service_since: datetime | None = None
    now: datetime | None = None
    others: tuple[OtherTest, ...] = ()
    power_w: Sequence[float] | None = None
    ended_after_s: float | None = None


def as_it_stands(charge_ah: float | None, value: float) -> Alternative:
    return Alternative(say("right as entered"), charge_ah, value, as_it_stands=True)
