"""Bringing the data file up to the program's schema, at every start."""

from enum import StrEnum
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from alembic.util.exc import CommandError
from sqlalchemy import Connection, inspect

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.storage.database.engine import Address, make_engine, orphans, translate_db_errors


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
    scripts = _scripts(migrations)
    if version == scripts.get_current_head():
        return Standing.CURRENT
    try:
        scripts.get_revision(version)
    except CommandError:
        return Standing.NEWER
    return Standing.OLDER


def upgrade(address: Address, migrations: Path, busy_timeout_ms: int = 5000) -> None:
    """Apply the migrations in one transaction: a failure leaves the file as it was.

    Of several processes that start at once the first does it, and the others find it done. Raises
    StorageError for a file of a newer program, and for a file that cannot be used.
    """
    config = _config(migrations)
    engine = make_engine(address, busy_timeout_ms, migrating=True)
    try:
        with translate_db_errors(), engine.begin() as connection:
            config.attributes["connection"] = connection
            _refuse_newer(connection, config)
            command.upgrade(config, "head")
            if lost := orphans(connection):
                raise StorageError(
                    say(
                        "Updating the data file would orphan {count} rows; it was left as it was.",
                        count=lost,
                    )
                )
    finally:
        engine.dispose()


def _config(migrations: Path) -> Config:
    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    return config


def _scripts(migrations: Path) -> ScriptDirectory:
    return ScriptDirectory.from_config(_config(migrations))


def _refuse_newer(connection: Connection, config: Config) -> None:
    tables = inspect(connection).get_table_names()
    if "alembic_version" not in tables:
        if tables:
            raise StorageError(
                say(
                    "The data file is a database of another program. It was left as it is; choose "
                    "another folder with --data."
                )
            )
        return
    rows = connection.exec_driver_sql("SELECT version_num FROM alembic_version")
    scripts = ScriptDirectory.from_config(config)
    for (version,) in rows:
        try:
            scripts.get_revision(version)
        except CommandError as error:
            raise StorageError(
                say(
                    "The data file was written by a newer Fadeline. It was left as it is; install "
                    "that version or choose another folder with --data."
                )
            ) from error
