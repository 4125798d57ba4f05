"""A battery as it goes out in one file: what a read-only link shows, with all readings."""

from dataclasses import dataclass
from datetime import date

from app.domain.battery import BatteryDetails
from app.domain.discharge import Discharge
from app.domain.event import Event
from app.domain.meter import Meter

# A file says its format, and carries its data in an address of its own (RFC 2397).
FILE_FORMAT = 1
DATA_ADDRESS = "data:application/zip;base64,"
# The fields that go out, by table; whatever is not named here stays at home.
SENT_FIELDS: dict[str, tuple[str, ...]] = {
    "battery": (
        "name",
        "chemistry",
        "nominal_v",
        "rated_ah",
        "rated_hours",
        "rated_temperature_c",
        "in_service_since",
        "cut_off_v",
        "empty_under_load_v",
        "corrects_temperature",
        "corrects_rate",
        "reserve_share",
        "threshold_kind",
        "end_of_life_share",
        "daily_use_ah",
        "nights",
        "test_interval_days",
    ),
    "meter": ("kind", "gain_limit_percent", "offset_limit_a", "resolution_a"),
    "discharge": (
        "started_at",
        "utc_offset_minutes",
        "charge_condition",
        "end_reason",
        "ended_after_h",
        "cut_off_v",
        "ambient_c",
        "load",
        "left_out_reason",
    ),
    "event": ("on_date", "kind"),
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
