"""Alembic's environment: a connection given by the program, or a throw-away file for checks."""

import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from alembic import context

from app.storage.engine import make_engine
from app.storage.tables import metadata


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
    context.configure(
        connection=connection,
        target_metadata=metadata,
        render_as_batch=True,
        render_item=render_item,
        compare_type=True,
    )
    with context.begin_transaction():
        context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    # "alembic check" and "alembic revision" compare the models with a new file that was migrated
    # the program's own way; in a process of its own, because this module runs once a context.
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "check.db"
        code = "import sys; from pathlib import Path; from app.storage.migrate import upgrade; "
        code += "upgrade(Path(sys.argv[1]), Path(sys.argv[2]))"
        migrations = str(Path(__file__).resolve().parent)
        subprocess.run([sys.executable, "-c", code, str(path), migrations], check=True)  # noqa: S603
        engine = make_engine(path, migrating=True)
        with engine.begin() as connection:
            run(connection)
        engine.dispose()
