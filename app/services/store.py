"""What every use case works on: the data file, the staging folder and results already computed."""

from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from operator import attrgetter
from pathlib import Path
from threading import Lock

from sqlalchemy import Engine

from app.analysis.result import Result, analyse_test
from app.domain.battery import Battery, BatteryDetails
from app.domain.discharge import Discharge, DischargeDetails
from app.domain.errors import StorageTrouble
from app.domain.meter import Meter, MeterDetails
from app.domain.preferences import Preferences
from app.domain.saying import preferred, say
from app.services.backups import back_up_before_update, remember
from app.storage.engine import make_engine
from app.storage.migrate import upgrade

_Key = tuple[tuple[object, ...], bytes, BatteryDetails, MeterDetails | None, Preferences]
_described = attrgetter(*(f.name for f in fields(DischargeDetails) if f.name != "readings"))


class ResultCache:
    """Results of the tests asked for last, each under what it was computed from.

    Numbers and versions would not do: a transaction that is rolled back gives its version to the
    next one. Of the readings only their digest is kept.
    """

    def __init__(self, size: int = 2000) -> None:
        self._size = size
        self._results: OrderedDict[_Key, Result] = OrderedDict()
        self._lock = Lock()

    def result(self, test: Discharge, battery: Battery, meter: Meter | None) -> Result:
        about = None if meter is None else meter.details
        key: _Key = (
            _described(test.details),
            test.details.readings.digest,
            battery.details,
            about,
            # A result carries sentences in its reader's language.
            preferred(),
        )
        with self._lock:
            if key in self._results:
                self._results.move_to_end(key)
                return self._results[key]
        made = analyse_test(test.details, battery.details, about)
        with self._lock:
            self._results[key] = made
            while len(self._results) > self._size:
                self._results.popitem(last=False)
        return made


@dataclass(frozen=True)
class Store:
    """The opened data of one Fadeline."""

    engine: Engine
    staging: Path
    results: ResultCache = field(default_factory=ResultCache)


def open_store(
    data_dir: Path, database: Path, staging: Path, migrations: Path, busy_timeout_ms: int
) -> Store:
    """Open the data file, making and updating it as needed.

    An older file is backed up before it is updated. Raises StorageTrouble where the folder or the
    file cannot be used.
    """
    try:
        data_dir.mkdir(parents=True, exist_ok=True)
        staging.mkdir(exist_ok=True)
    except OSError as error:
        raise StorageTrouble(
            say(
                "The data folder {data_dir} cannot be used ({strerror}); choose another with "
                "--data.",
                data_dir=data_dir,
                strerror=error.strerror,
            )
        ) from error
    engine = make_engine(database, busy_timeout_ms)
    kept = back_up_before_update(engine, migrations, datetime.now(UTC))
    upgrade(database, migrations, busy_timeout_ms)
    if kept is not None:
        remember(engine, kept)
    return Store(engine, staging)


@contextmanager
def in_use(store: Store) -> Iterator[None]:
    """Keep the data file open, so that “fadeline restore” sees that it is in use.

    In WAL mode every open connection holds a shared lock on the file, which the system lets go of
    when the process dies, however it dies.
    """
    with store.engine.execution_options(readonly=True).connect() as connection:
        connection.exec_driver_sql("SELECT count(*) FROM sqlite_master")
        connection.rollback()
        yield
