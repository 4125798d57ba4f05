"""What every use case works on: the data file, the staging folder and results already computed."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from functools import cached_property
from operator import attrgetter
from pathlib import Path
from threading import Lock

from sqlalchemy import Engine

from app.analysis.evidence.result import Result, analyse_test
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.entities.meter import Meter
from app.domain.errors import InvalidInput, StorageError
from app.domain.i18n.message import say
from app.domain.i18n.preferences import Preferences
from app.services.backups.backups import back_up_before_update, remember
from app.services.computed import Computed
from app.services.lru_cache import LruCache
from app.services.noted_readings import NotedReadings
from app.services.view_counter import ViewCounter
from app.storage.database.engine import Address, data_file, make_engine, shown_place
from app.storage.database.migrations import upgrade

_described = attrgetter(*(f.name for f in fields(DischargeDetails) if f.name != "readings"))
# So many tests a screen of batteries has.
RESULTS_KEPT = 2_000


class ResultCache:
    """Results of the tests asked for last, each under what it was computed from.

    Numbers and versions would not do: a transaction that is rolled back gives its version to the
    next one. Of the readings only their digest is kept.
    """

    def __init__(self, size: int = RESULTS_KEPT) -> None:
        self._results: LruCache[Result] = LruCache(size)

    def result(self, test: Discharge, battery: Battery, meter: Meter | None) -> Result:
        about = None if meter is None else meter.details
        key = (
            _described(test.details),
            test.details.readings.digest,
            battery.details,
            about,
        )
        return self._results.get(key, lambda: analyse_test(test.details, battery.details, about))


@dataclass(eq=False)
class Store:
    """The opened data of one Fadeline.

    filling says how many pages of the list are being worked out beside the server, and of how many;
    preferred is how the owner reads, as far as anybody asked. Nothing else of it ever changes.
    """

    engine: Engine
    staging: Path
    results: ResultCache = field(default_factory=ResultCache)
    # One new page of a list at a time: all at once, the first would be there as late as the last.
    listing: Lock = field(default_factory=Lock)
    noted: NotedReadings = field(default_factory=NotedReadings)
    filling: tuple[int, int] = (0, 0)
    # Never read where the records can be: another process may have stored a newer choice.
    preferred: Preferences = field(default_factory=Preferences)
    # Looks at links that are not stored yet.
    views: ViewCounter = field(default_factory=ViewCounter)

    @cached_property
    def computed(self) -> Computed:
        """What pages show of the batteries, as long as nothing of it changes."""
        return Computed(self.engine)

    @property
    def on_server(self) -> bool:
        """Whether the records lie in a PostgreSQL database."""
        return data_file(self.engine) is None

    @property
    def place(self) -> str:
        """Where the records lie, for their owner to read."""
        return shown_place(self.engine)


def open_store(
    data_dir: Path, database: Address, staging: Path, migrations: Path, busy_timeout_ms: int
) -> Store:
    """Open the data file or database, making and updating its tables as needed.

    An older file is backed up before it is updated. Raises InvalidInput for an address that is
    none, and StorageError where the folder, the file or the database cannot be used.
    """
    _check_name(data_dir)
    try:
        data_dir.mkdir(parents=True, exist_ok=True)
        staging.mkdir(exist_ok=True)
    except OSError as error:
        raise StorageError(
            say(
                "The data folder {folder} cannot be used ({reason}); choose another with --data.",
                folder=data_dir,
                reason=error.strerror,
            )
        ) from error
    engine = make_engine(database, busy_timeout_ms)
    with ExitStack() as on_failure:
        on_failure.callback(engine.dispose)
        kept = back_up_before_update(engine, migrations, datetime.now(UTC))
        upgrade(database, migrations, busy_timeout_ms)
        if kept is not None:
            remember(engine, kept)
        on_failure.pop_all()
    return Store(engine, staging)


def _check_name(folder: Path) -> None:
    """Refuse a folder whose name no page and no archive could show. Raises InvalidInput."""
    try:
        str(folder).encode()
    except UnicodeEncodeError as error:
        allowed = say("a folder whose whole path is text in UTF-8; rename it or choose another")
        raise InvalidInput.because(say("data folder"), folder, allowed) from error


@contextmanager
def in_use(store: Store) -> Iterator[None]:
    """Keep the data file open, so that “fadeline restore” sees that it is in use.

    In WAL mode every open connection holds a shared lock on the file, which the system lets go of
    when the process dies, however it dies. A database is never restored over, so nobody asks.
    """
    if store.on_server:
        yield
        return
    with store.engine.execution_options(readonly=True).connect() as connection:
        connection.exec_driver_sql("SELECT count(*) FROM sqlite_master")
        connection.rollback()
        yield
