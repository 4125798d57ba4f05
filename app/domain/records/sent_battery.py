"""A battery as it goes out in one file: what a read-only link shows, with all readings."""

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.entities.event import Event
from app.domain.entities.meter import Meter, MeterDetails
from app.domain.fields.described_field import described_fields

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

# A file says its format, and carries its data in an address of its own (RFC 2397). Those of format
# 1 had another page: what is computed from their data is compared by its figures alone.
FILE_FORMAT = 2
FILE_FORMATS = (1, FILE_FORMAT)
DATA_ADDRESS = "data:application/zip;base64,"


def _sent(thing: "type[DataclassInstance]") -> tuple[str, ...]:
    return tuple(field.name for field in described_fields(thing).values() if field.told.sent)


# The fields that go out, by table; whatever does not say that it is sent stays at home.
SENT_FIELDS: dict[str, tuple[str, ...]] = {
    "battery": _sent(BatteryDetails),
    "meter": _sent(MeterDetails),
    "discharge": _sent(DischargeDetails),
    "event": _sent(Event),
}


@dataclass(frozen=True)
class SentMeter:
    """A meter by its lasting name; it is called by its kind."""

    uid: str
    meter: Meter


@dataclass(frozen=True)
class SentTest:
    """A test by its lasting name. logged counts its readings, of which a long log goes out
    thinned."""

    uid: str
    test: Discharge
    logged: int

    @property
    def thinned(self) -> bool:
        return len(self.test.details.readings) < self.logged


@dataclass(frozen=True)
class SentEvent:
    """An event by its lasting name, without its note."""

    uid: str
    event: Event


@dataclass(frozen=True)
class SentBattery:
    """One battery with its tests in order of their start, numbered from 1, as of a local date.

    program is the version that made the file, demo says that everything in it is invented.
    """

    uid: str
    details: BatteryDetails
    meters: tuple[SentMeter, ...]
    tests: tuple[SentTest, ...]
    events: tuple[SentEvent, ...]
    as_of: date
    demo: bool
    program: str

    @property
    def logged(self) -> int:
        return sum(one.logged for one in self.tests)

    @property
    def carried(self) -> int:
        return sum(len(one.test.details.readings) for one in self.tests)

    @property
    def thinned(self) -> bool:
        return any(one.thinned for one in self.tests)


@dataclass(frozen=True)
class TextDifference:
    """Where a file says something else than its own data give; one side may be empty."""

    where: str
    in_file: str
    from_data: str
