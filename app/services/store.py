"""What every use case works on: the data file, the staging folder and results already computed."""

from collections import OrderedDict
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock

from sqlalchemy import Engine

from app.analysis.result import Result, analyse_test
from app.domain.battery import Battery
from app.domain.discharge import Discharge
from app.domain.errors import StorageTrouble
from app.domain.meter import Meter
from app.storage.engine import make_engine
from app.storage.migrate import upgrade

_Key = tuple[int, int, int, int, int, int]


class ResultCache:
    """Results of the tests asked for last. The key holds every version a result depends on."""

    def __init__(self, size: int = 2000) -> None:
        self._size = size
        self._results: OrderedDict[_Key, Result] = OrderedDict()
        self._lock = Lock()

    def result(self, test: Discharge, battery: Battery, meter: Meter | None) -> Result:
        meter_id, meter_version = (0, 0) if meter is None else (meter.id, meter.version)
        key = (test.id, test.version, battery.id, battery.version, meter_id, meter_version)
        with self._lock:
            if key in self._results:
                self._results.move_to_end(key)
                return self._results[key]
        made = analyse_test(test.details, battery.details, meter.details if meter else None)
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

    Raises StorageTrouble where the folder or the file cannot be used.
    """
    try:
        data_dir.mkdir(parents=True, exist_ok=True)
        staging.mkdir(exist_ok=True)
    except OSError as error:
        raise StorageTrouble(
            f"The data folder {data_dir} cannot be used ({error.strerror}); choose another with "
            "--data."
        ) from error
    upgrade(database, migrations, busy_timeout_ms)
    return Store(make_engine(database, busy_timeout_ms), staging)
