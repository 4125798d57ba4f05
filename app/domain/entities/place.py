"""Where a battery lives, and how warm it is there."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated

from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, CelsiusRange, say
from app.domain.limits import MAX_NAME_LENGTH, MAX_NOTE_LENGTH

MONTHS = 12


@dataclass(frozen=True)
class Season:
    """Months of a typical year, both included, 1 to 12; 11 to 2 goes over the new year.

    night_c and day_c are the coolest and the warmest of a usual day.
    """

    first_month: int
    last_month: int
    night_c: float
    day_c: float

    def __str__(self) -> str:
        return say(
            "months {first_month} to {last_month}: {range:g}",
            first_month=self.first_month,
            last_month=self.last_month,
            range=CelsiusRange(self.night_c, self.day_c),
        )

    @property
    def months(self) -> tuple[int, ...]:
        length = (self.last_month - self.first_month) % MONTHS + 1
        return tuple((self.first_month - 1 + i) % MONTHS + 1 for i in range(length))


@dataclass(frozen=True)
class HoursAt:
    """So many hours of a typical year at a temperature."""

    temperature_c: float
    hours: float

    def __str__(self) -> str:
        return say(
            "{hours:g} h at {temperature:g}",
            hours=self.hours,
            temperature=Celsius(self.temperature_c),
        )


@dataclass(frozen=True)
class PlaceDetails:
    """A place as its owner describes it: a typical year by seasons, or by hours, or neither."""

    name: Annotated[
        str,
        Described(
            N_("Name"),
            "What the owner calls it.",
            longest=MAX_NAME_LENGTH,
            called=N_("name"),
        ),
    ]
    note: Annotated[
        str,
        Described(N_("Note"), "Private note.", longest=MAX_NOTE_LENGTH, called=N_("note")),
    ] = ""
    seasons: Annotated[
        tuple[Season, ...],
        Described(
            N_("Seasons"),
            "A typical year: first and last month, coolest and warmest of a usual day in °C.",
            asked=False,
        ),
    ] = ()
    hours: Annotated[
        tuple[HoursAt, ...],
        Described(N_("Hours"), "A typical year: hours at a temperature in °C.", asked=False),
    ] = ()


@dataclass(frozen=True)
class Place:
    """A stored place."""

    id: int
    details: PlaceDetails
    version: int


@dataclass(frozen=True)
class Stay:
    """A battery at a place, from a day on until its next stay begins."""

    id: int
    battery_id: int
    place_id: int
    from_date: date
    version: int
