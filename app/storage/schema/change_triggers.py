"""Triggers that draw a new stamp with every change of the rows that answers are made of.

The database does it itself, whoever writes: no use case can forget it. A stamp is random, so that
none comes back: not with a transaction that is taken back, nor with a backup, which brings its own
stamps along with its rows. Batteries count from 1; the other owners stand below that.
"""

from collections.abc import Iterator

from sqlalchemy import Connection, text

from app.storage.schema.computed_table import CHANGE_STAMP

# The owner of rows that bear on every battery, and that of temperature logs.
EVERY_BATTERY, TEMPERATURE_LOGS = 0, -1
# Watched tables by the column that says whose a row is, or by their owner.
WATCHED: dict[str, str | int] = {
    "battery": "id",
    "discharge": "battery_id",
    "event": "battery_id",
    "stay": "battery_id",
    "meter": EVERY_BATTERY,
    "place": EVERY_BATTERY,
    "temperature_log": TEMPERATURE_LOGS,
    "temperature_day": TEMPERATURE_LOGS,
}
_EVENTS = {"INSERT": ("NEW",), "UPDATE": ("OLD", "NEW"), "DELETE": ("OLD",)}
_RANDOM = {"sqlite": "lower(hex(randomblob(16)))", "postgresql": "CAST(gen_random_uuid() AS text)"}
_STANDING = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal "
    "AND tgrelid IN (SELECT oid FROM pg_class WHERE pg_table_is_visible(oid))",
}


def triggers_stand(connection: Connection) -> bool:
    """Whether every change of a watched row draws a new stamp."""
    found = connection.execute(text(_STANDING[connection.dialect.name])).scalars()
    return {_name(table, event) for table in WATCHED for event in _EVENTS} <= {*found}


def make_triggers(connection: Connection) -> None:
    """Make all triggers anew, and all stamps, since rows may have changed without them."""
    dialect = connection.dialect.name
    for table, owner in WATCHED.items():
        for event, rows in _EVENTS.items():
            owners = [f"{row}.{owner}" if isinstance(owner, str) else str(owner) for row in rows]
            for statement in _STATEMENTS[dialect](table, event, owners):
                connection.exec_driver_sql(statement)
    connection.execute(CHANGE_STAMP.delete())
    random = _RANDOM[dialect]
    for owner in (EVERY_BATTERY, TEMPERATURE_LOGS):
        connection.exec_driver_sql(f"INSERT INTO change_stamp VALUES ({owner}, {random})")  # noqa: S608
    connection.exec_driver_sql(f"INSERT INTO change_stamp SELECT id, {random} FROM battery")  # noqa: S608


def _name(table: str, event: str) -> str:
    return f"stamp_{table}_{event.lower()}"


def _draw(owner: str, dialect: str) -> str:
    # Replaced in two steps: where a row is stored with a rule for conflicts, that rule would be
    # taken for this one, too.
    return (
        f"DELETE FROM change_stamp WHERE owner = {owner}; "  # noqa: S608
        f"INSERT INTO change_stamp VALUES ({owner}, {_RANDOM[dialect]});"
    )


def _on_file(table: str, event: str, owners: list[str]) -> Iterator[str]:
    draw = " ".join(_draw(owner, "sqlite") for owner in dict.fromkeys(owners))
    name = _name(table, event)
    yield f"DROP TRIGGER IF EXISTS {name}"
    yield f"CREATE TRIGGER {name} AFTER {event} ON {table} BEGIN {draw} END"


def _on_server(table: str, event: str, owners: list[str]) -> Iterator[str]:
    draw = " ".join(_draw(owner, "postgresql") for owner in dict.fromkeys(owners))
    name = _name(table, event)
    yield (
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql "
        f"AS $$ BEGIN {draw} RETURN NULL; END $$"
    )
    yield f"DROP TRIGGER IF EXISTS {name} ON {table}"
    yield (f"CREATE TRIGGER {name} AFTER {event} ON {table} FOR EACH ROW EXECUTE FUNCTION {name}()")


_STATEMENTS = {"sqlite": _on_file, "postgresql": _on_server}
