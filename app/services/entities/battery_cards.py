"""The cards of a list of batteries: kept while nothing behind them changes, else made anew.

Of a club's batteries the reports themselves would not fit into memory; of each the list keeps what
it shows.
"""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from sqlmodel import Session

from app.analysis.battery.battery_report import BatteryReport
from app.domain.entities.battery import Battery
from app.domain.entities.meter import Meter
from app.services.computed import KEPT, key_of
from app.services.entities.batteries import A_PAGE, Listing, look_at
from app.services.record_state import RecordState, states_of
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import batteries, meters

T = TypeVar("T")
# What a list makes of a report and of the tests with open questions.
Show = Callable[[BatteryReport, tuple[int, ...]], T]
_CARD = "card"
# Somebody who waits for a page gets so many new cards however long they take, and further ones as
# long as this. What is missing then comes with the next look.
SURELY, NO_LONGER_S = 8, 0.4


@dataclass(frozen=True)
class Cards(Generic[T]):
    """What a list makes of each battery: a dataclass of that kind, by `show`.

    waiting makes what stands there while the card is not computed; without it all are waited for.
    """

    kind: type[T]
    show: Show[T]
    waiting: Callable[[Battery], T] | None = None


@dataclass(frozen=True)
class ListQuery(Generic[T]):
    """Which page of the list: of those whose name holds `find`, from number `first` on.

    The lowest rank comes first; of equal ones, and without it, the name decides. To rank a battery
    its card is needed, so that all are asked for, as many as stay in memory; rank is asked of
    waiting ones, too.
    """

    find: str = ""
    first: int = 0
    rank: Callable[[T], float] | None = None


def list_shown(store: Store, today: date, asked: ListQuery[T], cards: Cards[T]) -> Listing[T]:
    """A page of the list with the card of each battery."""
    listing, missing = _page(store, today, asked, cards, make=False)
    if not missing:
        return listing
    # Whoever waits for the turn holds no connection meanwhile.
    if not store.listing.acquire(timeout=-1 if cards.waiting is None else NO_LONGER_S):
        return listing
    try:
        listing, _ = _page(store, today, asked, cards, make=True)
    finally:
        store.listing.release()
    store.computed.write()
    return listing


def without_card(store: Store, today: date, first: int, cards: Cards[T]) -> list[int]:
    """The numbers of the batteries on this page of the whole list whose card is not kept."""
    with read_session(store.engine) as session:
        found, _ = batteries.page_of(session, "", first, A_PAGE)
        shown, _ = _kept(store, session, today, found, cards)
        return [number for number in found if number not in shown]


def make_card(store: Store, today: date, battery_id: int, cards: Cards[T]) -> None:
    """Compute a battery's card where it is not kept; it is stored with the next `write`."""
    with read_session(store.engine) as session:
        shown, states = _kept(store, session, today, [battery_id], cards)
        if battery_id not in shown:
            for one in batteries.found(session, [battery_id]).values():
                _made(store, session, one, cards, states[battery_id], None)


def _page(
    store: Store, today: date, asked: ListQuery[T], cards: Cards[T], *, make: bool
) -> tuple[Listing[T], bool]:
    """The page, and whether the card of some battery that it needs was not kept."""
    with read_session(store.engine) as session:
        reach = (asked.first, A_PAGE) if asked.rank is None else (0, KEPT[_CARD])
        found, count = batteries.page_of(session, asked.find, *reach)
        shown, states = _kept(store, session, today, found, cards)
        lacking = batteries.found(session, [number for number in found if number not in shown])
        missing = [lacking[number] for number in found if number in lacking]
        by_id = {one.id: one for one in meters.all_kept(session)} if missing and make else None
        until, waiting = time.monotonic() + NO_LONGER_S, 0
        for number, one in enumerate(missing):
            patient = cards.waiting is None or number < SURELY or time.monotonic() < until
            if make and patient:
                shown[one.id] = _made(store, session, one, cards, states[one.id], by_id)
            elif cards.waiting is not None:
                shown[one.id] = cards.waiting(one)
                waiting += 1
        of_page = [shown[number] for number in found if number in shown]
        if asked.rank is not None:
            ranked = sorted(of_page, key=asked.rank)
            of_page = ranked[asked.first : asked.first + A_PAGE]
        return Listing(tuple(of_page), count, asked.find, asked.first, waiting), bool(missing)


def _kept(
    store: Store, session: Session, today: date, found: Sequence[int], cards: Cards[T]
) -> tuple[dict[int, T], dict[int, RecordState]]:
    """The cards that are kept, and the states of all."""
    states = states_of(session, found, today)
    keys = {number: _key(cards, state) for number, state in states.items()}
    return store.computed.find(session, _CARD, cards.kind, keys), states


def _made(
    store: Store,
    session: Session,
    battery: Battery,
    cards: Cards[T],
    state: RecordState,
    meters_by_id: dict[int, Meter] | None,
) -> T:
    looked = look_at(store, session, battery, state, meters_by_id)
    card = cards.show(looked.report, looked.in_question)
    store.computed.put(_CARD, battery.id, _key(cards, state), card)
    return card


def _key(cards: Cards[T], state: RecordState) -> str:
    return key_of(cards.kind.__qualname__, cards.show.__qualname__, state)
