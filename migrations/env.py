"""Alembic's environment: a connection given by the program, or a throw-away file for checks."""

import contextlib
import os
import secrets
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import context

from app.settings import given_database_url
from app.storage.database.engine import Address, make_engine
from app.storage.schema.computed_table import computed_metadata
from app.storage.schema.table_base import complete_indexes
from app.storage.schema.tables import metadata


def render_item(kind: str, item: Any, _context: Any) -> Any:
    """Write plain SQLAlchemy types: a migration must not depend on another library's inside."""
    if kind == "type":
        if type(item).__name__ == "AutoString":
            length = getattr(item.impl_instance, "length", None)
            return f"sa.String({length})" if length else "sa.String()"
        if type(item).__name__ in ("UTCDateTime", "DateTime"):
            return "sa.DateTime(timezone=True)"
    return False


def run(connection: sa.Connection) -> None:
    complete_indexes()
    context.configure(
        connection=connection,
        target_metadata=[metadata, computed_metadata],
        render_as_batch=True,
        render_item=render_item,
        compare_type=True,
    )
    with context.begin_transaction():
        context.run_migrations()


@contextlib.contextmanager
def empty_place() -> Iterator[Address]:
    """A new file; with FADELINE_DATABASE_URL a schema of that database, gone afterwards."""
    given = given_database_url()
    if not given:
        with tempfile.TemporaryDirectory() as folder:
            yield Path(folder) / "check.db"
        return
    name = f"fadeline_check_{secrets.token_hex(8)}"
    engine = make_engine(given)
    with engine.begin() as connection:
        connection.execute(sa.schema.CreateSchema(name))
    inside = sa.make_url(given).update_query_dict({"options": f"-csearch_path={name}"})
    try:
        yield inside.render_as_string(hide_password=False)
    finally:
        with engine.begin() as connection:
            connection.execute(sa.schema.DropSchema(name, cascade=True))
        engine.dispose()


given = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    # "alembic check" and "alembic revision" compare the models with an empty place that was
    # migrated the program's own way; in a process of its own, because this module runs once a
    # context.
    with empty_place() as address:
        code = "import os; from pathlib import Path; "
        code += "from app.storage.database.migrations import upgrade; "
        code += "place = os.environ['PLACE']; "
        code += "place = place if '://' in place else Path(place); "
        code += "upgrade(place, Path(os.environ['MIGRATIONS']))"
        # Told by the environment: other users of the machine see what a command is given.
        told = {"PLACE": str(address), "MIGRATIONS": str(Path(__file__).resolve().parent)}
        subprocess.run([sys.executable, "-c", code], check=True, env=os.environ | told)  # noqa: S603
        engine = make_engine(address, migrating=True)
        with engine.begin() as connection:
            run(connection)
        engine.dispose()
