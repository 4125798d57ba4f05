"""Bringing the data file up to the program's schema, at every start."""

from enum import StrEnum
from pathlib import Path

from sqlalchemy import Connection, inspect

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.storage.database import postgresql
from app.storage.database.engine import Address, make_engine, orphans, translate_db_errors
from app.storage.schema.change_triggers import make_triggers, triggers_stand


class Standing(StrEnum):
    """How a file's schema stands to this program's."""

    CURRENT = "current"
    OLDER = "older"
    NEWER = "newer"
    FOREIGN = "foreign"


def standing(version: str | None, migrations: Path) -> Standing:
    """Judge the version a file says it has; None is a file of another program, or an empty one."""
    if version is None:
        return Standing.FOREIGN
    known = _versions(migrations)
    if version == known[-1]:
        return Standing.CURRENT
    return Standing.OLDER if version in known else Standing.NEWER


def upgrade(address: Address, migrations: Path, busy_timeout_ms: int = 5000) -> None:
    """Apply the migrations in one transaction: a failure leaves the file as it was.

    Of several processes that start at once the first does it, and the others find it done. Raises
    StorageError for a file of a newer program, and for a file that cannot be used.
    """
    engine = make_engine(address, busy_timeout_ms, migrating=True)
    try:
        with translate_db_errors(), engine.begin() as connection:
            if connection.dialect.name != "sqlite":
                postgresql.need_utf8(connection)
            stands = [standing(one, migrations) for one in _stored_versions(connection)]
            _refuse_newer(stands, connection)
            if stands != [Standing.CURRENT]:
                _migrate(connection, migrations)
            # A table that a migration makes anew loses its triggers.
            if stands != [Standing.CURRENT] or not triggers_stand(connection):
                make_triggers(connection)
            if lost := orphans(connection):
                raise StorageError(
                    say(
                        "Updating the data file would leave {count} rows without what they belong "
                        "to; it was left as it was.",
                        count=lost,
                    )
                )
    finally:
        engine.dispose()


def _versions(migrations: Path) -> list[str]:
    """Every version, the newest last: the names of the files begin with them."""
    return sorted(path.name.partition("_")[0] for path in (migrations / "versions").glob("*.py"))


def _migrate(connection: Connection, migrations: Path) -> None:
    # Imported only where there is something to migrate: with what it imports itself it is a
    # hundred modules, which almost no start needs.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def _stored_versions(connection: Connection) -> list[str]:
    """What the file says of itself; nothing where it is empty. Raises StorageError."""
    tables = inspect(connection).get_table_names()
    if "alembic_version" in tables:
        rows = connection.exec_driver_sql("SELECT version_num FROM alembic_version")
        return [str(version) for (version,) in rows]
    if tables:
        if connection.dialect.name != "sqlite":
            raise StorageError(
                say(
                    "The database holds tables of another program. It was left as it is; name an "
                    "empty one in FADELINE_DATABASE_URL."
                )
            )
        raise StorageError(
            say(
                "The data file is a database of another program. It was left as it is; choose "
                "another folder with --data."
            )
        )
    return []


def _refuse_newer(stands: list[Standing], connection: Connection) -> None:
    if Standing.NEWER not in stands:
        return
    if connection.dialect.name != "sqlite":
        raise StorageError(
            say(
                "The database was written by a newer Fadeline. It was left as it is; install that "
                "version or name another database in FADELINE_DATABASE_URL."
            )
        )
    raise StorageError(
        say(
            "The data file was written by a newer Fadeline. It was left as it is; install that "
            "version or choose another folder with --data."
        )
    )
