"""What the owner may be asked about a logger's file of temperatures."""

from dataclasses import dataclass
from enum import StrEnum

from app.domain.i18n.message import say
from app.domain.units.column import DayOrder


class TemperatureUnit(StrEnum):
    """In which unit a file's temperatures are."""

    CELSIUS = "c"
    FAHRENHEIT = "f"

    @property
    def label(self) -> str:
        return "°C" if self is TemperatureUnit.CELSIUS else "°F"


@dataclass(frozen=True)
class TemperatureColumns:
    """What the owner answered about a file; None where the file may answer itself.

    sheet is that of a workbook, or a file in a ZIP.
    """

    column: int | None = None
    unit: TemperatureUnit | None = None
    day_order: DayOrder | None = None
    sheet: str | None = None


@dataclass(frozen=True)
class LogAnswers:
    """What the owner said of the oddities of a log."""

    leave_out_impossible: bool = False
    leave_out_stuck: bool = False
    hot_is_real: bool = False


class Overlap(StrEnum):
    """Which log counts for the hours that two of one place know."""

    NEWER = "newer"
    OLDER = "older"

    @property
    def label(self) -> str:
        return say("this file") if self is Overlap.NEWER else say("the earlier log")
