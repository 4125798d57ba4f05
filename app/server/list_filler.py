"""Cards of a long list computed beside the server, so that nobody waits for them."""

import logging
import threading
from collections.abc import Callable
from datetime import date, datetime

from app.domain.errors import FadelineError
from app.domain.local_clock import day_here
from app.services.entities.list_filling import fill_list
from app.services.store import Store
from app.web.pages.battery_list import CARDS

# A new day is noticed so late at the most.
LOOKS_EVERY_S = 60.0
# Besides the first and the last page, the log tells of every so manyth.
TELLS_EVERY = 10
log = logging.getLogger("fadeline")


class ListFiller:
    """A thread beside the server, which goes to work at its start and at every new day."""

    def __init__(
        self, store: Store, now: Callable[[], datetime], every_s: float = LOOKS_EVERY_S
    ) -> None:
        self._store, self._now, self._every_s = store, now, every_s
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._work, name="list", daemon=True)

    def __enter__(self) -> "ListFiller":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Break off after the card under way, and wait for that."""
        self._stopped.set()
        self._thread.join()

    def _work(self) -> None:
        filled: date | None = None
        while not self._stopped.wait(self._every_s if filled else 0.0):
            today = day_here(self._now())
            if today != filled:
                self._fill(today)
                filled = today

    def _fill(self, today: date) -> None:
        try:
            fill_list(self._store, today, CARDS, self._stopped.wait, _tell)
        except FadelineError as error:
            log.warning("the list was not worked out ahead: %s", error)
        except Exception:
            # Broad on purpose: without it the list comes later, but nothing else is wrong.
            log.exception("unexpected error while working out the list ahead")


def _tell(left: int, total: int) -> None:
    if not left:
        log.info("the list of batteries is worked out")
    elif left % TELLS_EVERY == 0 or left == total:
        log.info("the list of batteries is being worked out: %d of %d pages left", left, total)
