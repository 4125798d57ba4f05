"""The suite on PostgreSQL: with FADELINE_TEST_DATABASE_URL every data folder has a database.

The address is that of a server whose user may create databases, with the database to connect to
first. Each data folder that a test uses stands for a database of its own, copied from one that was
migrated once a worker; without the variable it has its data file, as always.
"""

import contextlib
import functools
import itertools
import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import URL, Engine, create_engine, make_url

from app.domain.records.integrity_issue import IntegrityIssue
from app.services.backups.data_check import check_file
from app.services.store import Store, open_store
from app.settings import DATABASE_NAME, MIGRATIONS, Settings
from app.storage.database.engine import Address, data_file, make_engine
from app.storage.database.migrations import upgrade

SERVER = os.environ.get("FADELINE_TEST_DATABASE_URL", "")


def as_text(url: URL) -> str:
    return url.set(drivername="postgresql").render_as_string(hide_password=False)


@dataclass
class Databases:
    """The databases of one worker by the folder that each stands for."""

    made: dict[Path, str] = field(default_factory=dict)
    # Copies that nobody has opened yet.
    new: set[str] = field(default_factory=set)
    numbers: Iterator[int] = field(default_factory=itertools.count)

    @functools.cached_property
    def server(self) -> Engine:
        url = make_url(SERVER).set(drivername="postgresql+psycopg")
        return create_engine(url, isolation_level="AUTOCOMMIT")

    @functools.cached_property
    def template(self) -> str:
        # Sorted as people do, where the server can: no order may hang on it.
        name = self.create("template0 LOCALE_PROVIDER icu ICU_LOCALE 'en-US'")
        upgrade(self.address(name), MIGRATIONS)
        return name

    def address(self, name: str) -> str:
        return as_text(self.server.url.set(database=name))

    def create(self, template: str) -> str:
        name = f"fadeline_test_{os.getpid()}_{next(self.numbers)}"
        # Copied as files: half the time of copying through the log.
        self._say(f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY file_copy")
        return name

    def of(self, folder: Path) -> str:
        """The address of a folder's database, made when it is first asked for."""
        if folder not in self.made:
            self.made[folder] = self.create(self.template)
            self.new.add(self.address(self.made[folder]))
        return self.address(self.made[folder])

    def is_new(self, address: Address) -> bool:
        """Whether a database is as it was copied; true the first time only."""
        is_new = address in self.new
        self.new.discard(str(address))
        return is_new

    def drop_below(self, folder: Path) -> None:
        for one in [path for path in self.made if path.is_relative_to(folder)]:
            self._say(f"DROP DATABASE {self.made.pop(one)} WITH (FORCE)")

    def drop_all(self) -> None:
        if "server" not in vars(self):
            return
        self.drop_below(Path("/"))
        if "template" in vars(self):
            self._say(f"DROP DATABASE {self.template} WITH (FORCE)")
        self.server.dispose()

    def _say(self, statement: str) -> None:
        with self.server.connect() as connection:
            connection.exec_driver_sql(statement)


databases = Databases()


def address_of(folder: Path) -> Address:
    """Where the records of a data folder lie."""
    return databases.of(folder) if SERVER else folder / DATABASE_NAME


def opened(folder: Path, busy_timeout_ms: int = 2000) -> Store:
    """The records of a data folder."""
    return open_store(folder, address_of(folder), folder / "staging", MIGRATIONS, busy_timeout_ms)


def as_kept(text: str) -> str:
    """A text as it is read back: a database keeps the picture of a NUL, as an archive does."""
    return text.replace("\0", "␀") if SERVER else text


def environment_of(folder: Path) -> dict[str, str]:
    """What a process is told so that its records are those of a data folder."""
    database = {"FADELINE_DATABASE_URL": databases.of(folder)} if SERVER else {}
    return os.environ | {"FADELINE_DATA": str(folder)} | database


def file_damages(store: Store) -> tuple[IntegrityIssue, ...]:
    """What “fadeline check” finds in a data file; a database looks after its own pages."""
    file = data_file(store.engine)
    return () if file is None else check_file(file, MIGRATIONS).damages


@contextlib.contextmanager
def another_writing(store: Store) -> Iterator[None]:
    """Another program is in the middle of storing something."""
    engine = make_engine(data_file(store.engine) or as_text(store.engine.url))
    with engine.begin():
        yield
    engine.dispose()


def let_folders_stand_for_databases() -> None:
    """Settings that name a data folder and no database get the folder's."""
    plain = Settings.__init__

    @functools.wraps(plain)
    def init(self: Settings, *given: object, **named: object) -> None:
        plain(self, *given, **named)  # type: ignore[arg-type]
        if "database_url" not in named and not self.database_url:
            object.__setattr__(self, "database_url", databases.of(self.data_dir))

    def of_folder(cls: type[Settings], folder: Path) -> Settings:
        return cls(data_dir=folder, database_url=databases.of(folder))

    Settings.__init__ = init  # type: ignore[method-assign]
    Settings.of_folder = classmethod(of_folder)  # type: ignore[assignment, method-assign]
