"""Whether anything was stored meanwhile, told without reading any of it."""

import sqlite3
import weakref
from pathlib import Path
from threading import Lock

from app.storage.database.file_guard import file_at


class DataState:
    """Watches a data file over a connection of its own, which never writes.

    SQLite counts up `data_version` of a connection when another one, of any process, has stored
    something (https://sqlite.org/pragma.html#pragma_data_version). Safe to use from threads.
    """

    def __init__(self, file: Path) -> None:
        self._file = file
        self._lock = Lock()
        self._connection: sqlite3.Connection | None = None
        self._opened: tuple[int, int] | None = None
        self._openings = 0

    def now(self) -> tuple[int, int] | None:
        """Numbers that stay the same for as long as nothing is stored; None where the file
        cannot tell, or is gone."""
        with self._lock:
            found = file_at(self._file)
            if found != self._opened:
                # A connection to a file that was removed would never see a change again.
                self._let_go()
            if found is None:
                return None
            try:
                (version,) = self._watching(found).execute("PRAGMA data_version").fetchone()
            except sqlite3.Error:
                return None
            return self._openings, int(version)

    def _let_go(self) -> None:
        if self._connection is not None:
            self._connection.close()
        self._connection, self._opened = None, None

    def _watching(self, found: tuple[int, int]) -> sqlite3.Connection:
        if self._connection is None:
            self._opened = found
            self._openings += 1
            # No waiting: whoever asks would rather do without.
            made = sqlite3.connect(
                f"{self._file.absolute().as_uri()}?mode=rw",
                uri=True,
                timeout=0,
                isolation_level=None,
                check_same_thread=False,
            )
            weakref.finalize(self, made.close)
            self._connection = made
        return self._connection
