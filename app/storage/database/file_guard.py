"""Whether the data file is still the one that a connection has open.

A file that was removed, or whose drive is gone, can be read and written to by whoever has it open:
what is stored then is lost without a word. So each transaction looks before it begins and before
it is committed, and a file that is missing is never made anew.
"""

from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event
from sqlalchemy.engine import ExceptionContext
from sqlalchemy.exc import DisconnectionError

from app.domain.errors import StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say

GONE = N_(
    "The data file is no longer in its place. Nothing was stored. Put its folder back or plug "
    "its drive in again, and Fadeline carries on. If it is gone for good, stop Fadeline and go "
    "back to a backup."
)
# Signs of a drive that went away under an open file.
_BROKEN = ("disk i/o", "unable to open")
_KEY = "file"


def watch_file(engine: Engine, path: Path) -> None:
    """Let the engine notice that its file was removed, moved or exchanged for another."""
    watched = _Watched(path)
    event.listen(engine, "do_connect", watched.only_where_it_is)
    event.listen(engine, "connect", watched.remember)
    event.listen(engine, "checkout", watched.look_before)
    event.listen(engine, "commit", watched.look_after)
    event.listen(engine, "handle_error", _let_go)


class _Watched:
    """What happens to connections of an engine on this file."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._was_there = False

    def only_where_it_is(self, *_: object) -> None:
        # Opening a missing file would make an empty one.
        if self._was_there and file_at(self._path) is None:
            raise StorageError(say(GONE))

    def remember(self, _connection: object, record: Any) -> None:
        found = file_at(self._path)
        record.info[_KEY] = found
        self._was_there = self._was_there or found is not None

    def look_before(self, _connection: object, record: Any, _proxy: object) -> None:
        found = file_at(self._path)
        if found is None:
            raise StorageError(say(GONE))
        if record.info.get(_KEY) != found:
            # Another file is in its place: the pool lets this connection go and opens that.
            raise DisconnectionError

    def look_after(self, connection: Any) -> None:
        if connection.info.get(_KEY) != file_at(self._path):
            raise StorageError(say(GONE))


def _let_go(context: ExceptionContext) -> None:
    said = str(context.original_exception).lower()
    if any(sign in said for sign in _BROKEN):
        context.is_disconnect = True


def file_at(path: Path) -> tuple[int, int] | None:
    """Which file lies there, by its drive and its number on it."""
    try:
        about = path.stat()
    except OSError:
        return None
    return about.st_dev, about.st_ino
