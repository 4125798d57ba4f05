"""Pages as they were last sent, for as long as nothing that they are made of has changed.

A page is made of the records, the minute, its address and what its reader sends along. While none
of them changes it need not be made again: a crowd at one link costs hardly more than one visitor.
"""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from datetime import datetime

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.services.lru_cache import LruCache
from app.services.store import Store
from app.web.rendering.open_doors import open_doors
from app.web.rendering.rendering import EXAMPLE, now_of, store_of
from app.web.request import OWNER, SECRET
from app.web.security.middleware import ONLY_HEAD

# Enough for a crowd; a page takes about 0.1 MB, and a larger one than this is made anew.
PAGES_KEPT, MAX_BYTES = 64, 1_000_000
# What a page may read of the request besides its address.
_READ_HEADERS = ("accept-language", "cookie", "host")
_ASKING = "fadeline.keeping"

EachTime = Callable[[datetime], Callable[[], object] | None]


@dataclass
class _Page:
    """A page on its way. asked says that its route wants it kept."""

    asked: bool = False
    until: datetime | None = None
    hangs_on: Callable[[], object] | None = None
    value: object = None
    each_time: EachTime | None = None
    messages: list[Message] = field(default_factory=list)

    @property
    def size(self) -> int:
        return sum(len(message.get("body", b"")) for message in self.messages)

    def holds(self, now: datetime) -> bool:
        ended = self.until is not None and now >= self.until
        return not ended and (self.hangs_on is None or self.hangs_on() == self.value)


def keep(
    request: Request,
    *,
    until: datetime | None = None,
    hangs_on: Callable[[], object] | None = None,
    each_time: EachTime | None = None,
) -> None:
    """Say that the page of this request hangs on nothing but the records, the minute and the
    request; besides, it ends at `until`, and holds while `hangs_on` gives the same.

    each_time is called with the moment whenever the page is sent from what is kept. It is quick,
    and gives back what else is to be done and takes longer, or None.
    """
    page = request.scope.get(_ASKING)
    if isinstance(page, _Page):
        page.asked, page.until, page.each_time = True, until, each_time
        page.hangs_on, page.value = hangs_on, hangs_on() if hangs_on else None


class PageCache:
    """Behind the gate, which has decided by then who asks. The example's pages are made anew."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app
        self._pages: LruCache[_Page] = LruCache(PAGES_KEPT)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        key = _key(scope)
        if key is None:
            await self._app(scope, receive, send)
            return
        now = now_of(Request(scope))
        kept = self._pages.find(key)
        if kept is not None and kept.holds(now):
            for message in kept.messages:
                await send(_copied(message))
            if kept.each_time is not None:
                to_do = kept.each_time(now)
                if to_do is not None:
                    await run_in_threadpool(to_do)
            return
        page = _Page()
        status = 0

        async def send_and_note(message: Message) -> None:
            nonlocal status
            status = message.get("status", status)
            if page.asked:
                page.messages.append(_copied(message))
            await send(message)

        await self._app({**scope, _ASKING: page}, receive, send_and_note)
        if page.asked and status == 200 and page.size <= MAX_BYTES:
            self._pages.put(key, page)


def _copied(message: Message) -> Message:
    # The gate adds headers to the very list that it is given.
    return {name: list(part) if name == "headers" else part for name, part in message.items()}


def _key(scope: Scope) -> Hashable:
    """All that a page is made of; None where none is kept."""
    if scope["type"] != "http" or scope["method"] != "GET" or ONLY_HEAD in scope:
        return None
    path: str = scope["path"]
    if path.startswith(("/static/", EXAMPLE)):
        return None
    request = Request(scope)
    state = _state(store_of(request))
    if state is None:
        return None
    headers = Headers(scope=scope)
    return (
        state,
        path,
        scope["query_string"],
        tuple(headers.get(name) for name in _READ_HEADERS),
        scope[OWNER],
        scope[SECRET],
        open_doors(request.app),
        now_of(request).replace(second=0, microsecond=0),
    )


def _state(store: Store) -> Hashable:
    # Read before the page is made: what is stored meanwhile makes the page newer than its key.
    return None if store.state is None else store.state.now()
