"""Work that is to be done once, however many processes run on the same records."""

import logging
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from sqlalchemy import Engine

from app.domain.errors import StorageError
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import settings

log = logging.getLogger("fadeline")


@contextmanager
def taking_turns(engine: Engine, name: str, now: datetime, within: timedelta) -> Iterator[bool]:
    """Whether it is this process's turn; then no other one's until the work is done.

    name is that of the setting which holds the turn. A turn that was not given back lapses after
    within: its process was killed. Raises StorageError where no turn can be written down.
    """
    mine = f"{now.isoformat()} {secrets.token_hex(8)}"
    with read_session(engine) as session:
        # Looked at before: most of the time nothing has to be written.
        taken = _holds(settings.get(session, name), now, within)
    if not taken:
        with write_transaction(engine) as session:
            taken = _holds(settings.get(session, name), now, within)
            if not taken:
                settings.put(session, name, mine)
    try:
        yield not taken
    finally:
        if not taken:
            _give_back(engine, name, mine)


def _holds(turn: str | None, now: datetime, within: timedelta) -> bool:
    """Whether a turn as written down is still somebody's; one from the future is nobody's."""
    if turn is None:
        return False
    try:
        begun = datetime.fromisoformat(turn.partition(" ")[0])
        return timedelta(0) <= abs(now - begun) < within
    except (ValueError, TypeError):
        return False


def _give_back(engine: Engine, name: str, mine: str) -> None:
    try:
        with write_transaction(engine) as session:
            if settings.get(session, name) == mine:
                settings.put(session, name, None)
    except StorageError as trouble:
        log.warning("a turn could not be given back and lapses by itself: %s", trouble)
