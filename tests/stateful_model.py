"""Records that grow by chance, through the use cases, with awkward but allowed values."""

import math
import random
import shutil
from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import chain
from pathlib import Path
from typing import TypeVar

from hypothesis import strategies as st
from sqlalchemy import event
from sqlmodel import select

from app.domain import quantity as q
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import ChargeCondition, DischargeDetails, EndReason
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.entities.place import HoursAt, PlaceDetails, Season
from app.domain.entities.run import ReadingGiven, RunDetails
from app.domain.quantity import Quantity
from app.domain.readings import Readings
from app.domain.share import SharePart
from app.domain.temperature_log import HourlyTemperatures
from app.domain.units.column import ColumnUse
from app.services.entities import photos, places
from app.services.entities.discharges import Original
from app.services.store import Store
from app.storage.database.engine import make_engine, read_session, write_transaction
from app.storage.repositories import settings
from app.storage.schema.tables import metadata
from tests.builders import NOW
from tests.pictures import as_file, halves
from tests.postgres import SERVER, as_kept, databases

Thing = TypeVar("Thing")


def numbers(allowed: Quantity) -> st.SearchStrategy[float]:
    return st.floats(allowed.low, allowed.high, exclude_min=allowed.above_low)


def perhaps(some: st.SearchStrategy[Thing]) -> st.SearchStrategy[Thing | None]:
    return st.none() | some


# What tables of text stumble over: the word for nothing, quotes, line ends, formulas, a NUL.
AWKWARD = ("", "NULL", "NULL_", '"', '""', ",", "\r", "\n", "\r\n", "=1+1", "\0", "\x1f", "\x85")
AWKWARD += ("\u2028", "\ufeff", "Wärme ☀ 東", "é", " ", "'", "\\", "\t", "true", "-0.0")


def words(longest: int) -> st.SearchStrategy[str]:
    letters = st.characters(exclude_categories=("Cs",))
    some = st.sampled_from(AWKWARD) | st.text(letters, max_size=min(longest, 8))
    return some.map(as_kept)


NAMES = words(80).filter(bool)
LONG_TEXTS = words(400) | st.sampled_from(['"\r\n,' * 20, "ß" * 400])
BATTERIES = st.builds(
    BatteryDetails,
    name=NAMES,
    chemistry=st.sampled_from(Chemistry),
    nominal_v=st.sampled_from([12.0, 12.8, 25.6]),
    rated_ah=numbers(q.RATED_CAPACITY),
    rated_hours=perhaps(numbers(q.RATED_HOURS)),
    rated_temperature_c=numbers(q.RATED_TEMPERATURE),
    in_service_since=perhaps(st.dates(datetime(1970, 1, 1).date(), NOW.date())),
    cut_off_v=perhaps(st.sampled_from([0.1, 10.5, 12.9, 13.15])),
    empty_under_load_v=perhaps(st.sampled_from([0.1, 11.0])),
    corrects_temperature=st.booleans(),
    reserve_share=st.floats(0, 0.9),
    end_of_life_share=numbers(q.END_OF_LIFE_SHARE),
    daily_use_ah=perhaps(numbers(q.DAILY_USE)),
    nights=perhaps(numbers(q.NIGHTS)),
    test_interval_days=st.integers(1, 3650),
    place=words(200),
    serial_number=words(80),
    price=perhaps(numbers(q.PRICE)),
    notes=LONG_TEXTS,
)
METERS = st.builds(
    MeterDetails,
    name=NAMES,
    kind=st.sampled_from(MeterKind),
    gain_limit_percent=numbers(q.METER_GAIN),
    offset_limit_a=numbers(q.METER_OFFSET),
    resolution_a=numbers(q.METER_RESOLUTION),
)


def drawn_readings(seed: int) -> Readings:
    """A load that goes on for some hours; at times the logger's sign, gaps and wild steps."""
    chance = random.Random(seed)
    times = [0.0]
    for _ in range(chance.randint(1, 12)):
        times.append(times[-1] + chance.choice([0.001, 60.0, 3600.0, chance.uniform(1, 7200)]))
    sign = chance.choice([1.0, 1.0, -1.0])
    wild = chance.choice([9.0, 9.0, 0.1 + 0.2, 100_000.0])

    def column(usual: float, *others: float) -> list[float | None]:
        if chance.random() < 0.4:
            return [None] * len(times)
        values = (None, usual, usual, usual + chance.random(), *others)
        return [chance.choice(values) for _ in times]

    return Readings.of(
        times,
        [sign * chance.choice([9.0, 9.1, chance.uniform(0.5, 50), wild]) for _ in times],
        column(12.9, 13.2, 10.0, 0.0, 5e-324, -10.0, 2000.0),
        column(24.0, -60.0, 120.0, -0.0),
        column(50.0, 100.0, 0.0, 5e-324),
    )


# Few starts, so that two tests of one battery want the same one now and then.
MOMENTS = st.integers(0, 40).map(lambda d: NOW - timedelta(days=d, microseconds=d % 3))
DISCHARGES = st.builds(
    DischargeDetails,
    started_at=MOMENTS,
    utc_offset_minutes=st.integers(-14 * 60, 14 * 60),
    charge_condition=st.sampled_from(ChargeCondition),
    end_reason=st.sampled_from(EndReason),
    readings=st.integers(0, 2**32).map(drawn_readings),
    ended_after_h=perhaps(st.floats(0.1, 20)),
    cut_off_v=perhaps(st.sampled_from([10.5, 13.0])),
    ambient_c=perhaps(numbers(q.AMBIENT_TEMPERATURE)),
    load=words(200),
    notes=LONG_TEXTS,
    source=words(200),
    assumptions=st.lists(words(80), max_size=3).map(tuple),
)
ORIGINALS = st.builds(
    Original,
    name=NAMES.map(lambda name: name.replace("\0", "_")),
    data=st.binary(max_size=60),
    header=st.lists(words(20), max_size=3).map(tuple),
    uses=st.lists(st.sampled_from(ColumnUse), max_size=3).map(tuple),
)
RUNS = st.builds(
    RunDetails,
    started_at=MOMENTS,
    utc_offset_minutes=st.integers(-14 * 60, 14 * 60),
    charge_condition=st.sampled_from(ChargeCondition),
    meter_id=st.just(0),
    load=words(200),
    reading_every_min=numbers(q.READING_EVERY),
    ambient_c=perhaps(numbers(q.AMBIENT_TEMPERATURE)),
    notes=LONG_TEXTS,
)
# Few moments after the start, so that readings meet.
GIVEN = st.builds(
    ReadingGiven,
    at=st.integers(0, 6).map(lambda minutes: timedelta(minutes=minutes)),  # type: ignore[arg-type]
    current_a=st.floats(1, 60) | numbers(q.READING_CURRENT),
    voltage_v=perhaps(numbers(q.READING_VOLTAGE)),
    temperature_c=perhaps(numbers(q.READING_TEMPERATURE)),
    gauge_percent=perhaps(numbers(q.READING_GAUGE)),
)
PARTS = st.frozensets(st.sampled_from(SharePart))
METER_KINDS = st.sampled_from(MeterKind)


def at_run(given: ReadingGiven, details: RunDetails) -> ReadingGiven:
    """A reading so long after the start of its run."""
    return replace(given, at=details.started_at + given.at)  # type: ignore[operator]


@dataclass
class Folder:
    """Stores in one folder, each from a copy of one empty data file, as quick as they may be; on a
    server each with a database of its own."""

    path: Path
    empty: Path
    made: list[Store] = field(default_factory=list)

    def store(self) -> Store:
        place = self.path / f"{len(self.made)}"
        if SERVER:
            engine = make_engine(databases.of(place))
        else:
            shutil.copy(self.empty, place)
            engine = make_engine(place)
            # No power is cut in here.
            event.listen(engine, "connect", lambda made, _: made.execute("PRAGMA synchronous=OFF"))
        self.made.append(Store(engine, self.path))
        return self.made[-1]

    def close(self, store: Store) -> None:
        store.engine.dispose()

    def close_all(self) -> None:
        for store in self.made:
            self.close(store)
        databases.drop_below(self.path)


def numbers_in(store: Store, table: str) -> Sequence[int]:
    """Numbers of all rows, with those in the bin."""
    with read_session(store.engine) as session:
        return session.exec(select(metadata.tables[table].c.id)).all()


def put_setting(store: Store, name: str, value: str) -> None:
    with write_transaction(store.engine) as session:
        settings.put(session, name, value)


def add_photo(store: Store, discharge_id: int, caption: str, tail: bytes, now: datetime) -> None:
    """A picture of some size, or one in the bin."""
    width = 8 + sum(tail) % 40
    (photo,) = photos.add_photos(
        store, discharge_id, [("a.jpg", as_file(halves((width, 8))))], caption, now
    )
    if tail.startswith(b"0"):
        photos.bin_photo(store, photo.id, now)


MONTHS = st.integers(1, 12)
PLACES = st.builds(
    PlaceDetails,
    words(80),
    words(400),
    st.lists(
        st.builds(
            Season, MONTHS, MONTHS, numbers(q.PLACE_TEMPERATURE), numbers(q.PLACE_TEMPERATURE)
        ),
        max_size=2,
    ).map(tuple),
    st.lists(
        st.builds(HoursAt, numbers(q.PLACE_TEMPERATURE), numbers(q.HOURS_A_YEAR)), max_size=2
    ).map(tuple),
)
# Hundredths of a degree, as they are kept.
DAYS = st.lists(
    st.lists(
        st.just(math.nan) | st.integers(-5000, 8000).map(lambda v: v / 100),
        min_size=24,
        max_size=24,
    ),
    min_size=1,
    max_size=3,
).filter(lambda days: any(not math.isnan(v) for day in days for v in day))


def add_log(
    store: Store, place_id: int, source: str, days: list[list[float]], now: datetime
) -> None:
    hours = HourlyTemperatures(NOW.date() - timedelta(days=9), array("d", chain(*days)))
    places.add_log(store, place_id, source, (source,), hours, now, gives_way=bool(len(days) % 2))
