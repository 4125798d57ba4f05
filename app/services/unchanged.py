"""What was derived from the data file, kept for as long as nothing in the file changes."""

from collections.abc import Callable, Hashable
from typing import TypeVar

from sqlmodel import Session

_T = TypeVar("_T")
_KEPT = "fadeline.derived"


def while_unchanged(session: Session, name: str, under: Hashable, make: Callable[[], _T]) -> _T:
    """What make gives, or what it gave the last time under the same key.

    Each connection keeps its own, because it alone knows what it has seen: SQLite counts for it
    the commits of all others (https://www.sqlite.org/pragma.html#pragma_data_version) and the rows
    that it changed itself. So nothing stands for longer than the state that it was made from,
    whatever else writes to the file; a session that has changed something must not ask.
    """
    connection = session.connection()
    own = connection.connection.driver_connection
    others = connection.exec_driver_sql("PRAGMA data_version").scalar_one()
    key = (others, own.total_changes if own else None, under)
    kept: dict[str, tuple[object, _T]] = connection.info.setdefault(_KEPT, {})
    if name not in kept or kept[name][0] != key:
        kept[name] = (key, make())
    return kept[name][1]
