"""Backups while the server runs: at its start, then whenever the last is a day old."""

import logging
import threading
from datetime import UTC, datetime

from app.domain.errors import FadelineError
from app.services.backups.backups import back_up_when_due
from app.services.store import Store
from app.storage.backup.online_backup import Stopped

LOOKS_EVERY_S = 15 * 60.0
log = logging.getLogger("fadeline")


class BackupTimer:
    """A thread beside the server, so that no page waits for a backup."""

    def __init__(self, store: Store, every_s: float = LOOKS_EVERY_S) -> None:
        self._store = store
        self._every_s = every_s
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._work, name="backups", daemon=True)

    def __enter__(self) -> "BackupTimer":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Break off a copy under way, of which nothing is left, and wait for that."""
        self._stopped.set()
        self._thread.join()

    def _work(self) -> None:
        while not self._stopped.is_set():
            self._look()
            self._stopped.wait(self._every_s)

    def _look(self) -> None:
        try:
            back_up_when_due(self._store.engine, datetime.now(UTC), self._goes_on)
        except Stopped:
            return
        except FadelineError as error:
            log.warning("no backup was made: %s", error)
        except Exception:
            # Broad on purpose: what ends this thread ends all backups, unseen, for as long as the
            # server runs. The next look may fare better.
            log.exception("unexpected error while backing up")

    def _goes_on(self) -> bool:
        return not self._stopped.is_set()
