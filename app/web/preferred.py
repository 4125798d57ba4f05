"""How numbers look in the request that is being answered.

The owner's own pages look as the owner chose. What somebody else reads, and files that are compared
word for word, look as usual.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache

from fastapi import Request

from app.domain.preferences import Preferences
from app.services.preferences import preferences_of

USUAL = Preferences()
_chosen: ContextVar[Callable[[], Preferences] | None] = ContextVar("preferences", default=None)


def preferred() -> Preferences:
    """The preferences that hold here; the usual ones outside a page of the owner."""
    chosen = _chosen.get()
    return USUAL if chosen is None else chosen()


async def as_preferred(request: Request) -> None:
    """Dependency of the owner's pages. It is asynchronous so that the page sees what it sets."""
    store = request.app.state.store
    # Read by the first number that is shown, not by pages without any.
    _chosen.set(cache(lambda: preferences_of(store)))


@contextmanager
def shown_as(chosen: Preferences = USUAL) -> Iterator[None]:
    """Numbers look like this meanwhile: as usual for what leaves this machine."""
    before = _chosen.set(lambda: chosen)
    try:
        yield
    finally:
        _chosen.reset(before)
