"""Computing the cards of a long list ahead, after a change of the method or at a new day."""

import time
from collections.abc import Callable
from datetime import date
from typing import TypeVar

from app.services.entities.batteries import A_PAGE
from app.services.entities.battery_cards import Cards, make_card, without_card
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries

T = TypeVar("T")
# Waits for so many seconds; whether to stop.
Wait = Callable[[float], bool]
# So many pages are left, of so many.
Say = Callable[[int, int], None]


def fill_list(store: Store, today: date, cards: Cards[T], wait: Wait, say: Say) -> None:
    """Compute what is missing of the list, page by page, and store it.

    A single page is left to whoever asks for it. As much time as a card took is left to others.
    """
    with read_session(store.engine) as session:
        _, count = batteries.page_of(session, "", 0, 0)
    total = -(-count // A_PAGE)
    missing = []
    for first in range(0, count, A_PAGE):
        if without_card(store, today, first, cards):
            missing.append(first)
        if wait(0.0):
            return
    if len(missing) < 2:
        return
    try:
        for done, first in enumerate(missing):
            store.filling = (len(missing) - done, total)
            say(*store.filling)
            if not _filled(store, today, first, cards, wait):
                return
        say(0, total)
    finally:
        store.filling = (0, 0)
        store.computed.write()


def _filled(store: Store, today: date, first: int, cards: Cards[T], wait: Wait) -> bool:
    """Whether the page was filled to its end."""
    for one in without_card(store, today, first, cards):
        began = time.monotonic()
        make_card(store, today, one, cards)
        if wait(time.monotonic() - began):
            return False
    store.computed.write()
    return True
