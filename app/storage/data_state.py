"""Whether anything was stored meanwhile, told without reading any of it."""

import sqlite3
import weakref
from pathlib import Path
from threading import Lock


class DataState:
    """Watches a data file over a connection of its own, which never writes.

    SQLite counts up `data_version` of a connection when another one, of any process, has stored
    something (https://sqlite.org/pragma.html#pragma_data_version). Safe to use from threads.
    """

    def __init__(self, file: Path) -> None:
        self._file = file
        self._lock = Lock()
        self._connection: sqlite3.Connection | None = None

    def now(self) -> int | None:
        """A number that stays the same for as long as nothing is stored; None where the file
        cannot tell."""
        with self._lock:
            try:
                (version,) = self._watching().execute("PRAGMA data_version").fetchone()
            except sqlite3.Error:
                return None
            return int(version)

    def _watching(self) -> sqlite3.Connection:
        if self._connection is None:
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
