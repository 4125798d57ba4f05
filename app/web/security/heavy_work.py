"""Work that takes much memory: few at a time, the others in line.

Who waits does so on the event loop and holds no thread, or forty of them would stop every page.
"""

import asyncio
from collections.abc import Awaitable, Callable
from functools import partial, wraps
from typing import Any, TypeVar

from starlette.concurrency import run_in_threadpool

from app.domain.errors import Busy
from app.domain.i18n.message import say
from app.web.loop_semaphore import LoopSemaphore

Done = TypeVar("Done")
# A picture or a log of a million rows takes about 200 MB.
MAX_AT_ONCE = 2
MAX_WAIT_S = 60.0
# A table of so many bytes has some ten thousand rows, which is little.
MAX_LIGHT_BYTES = 500_000
# The example's pages stand in the same line.
_places = LoopSemaphore(MAX_AT_ONCE)


def heavy(
    when: Callable[..., bool] = lambda **_: True,
) -> Callable[[Callable[..., Done]], Callable[..., Awaitable[Done]]]:
    """Decorates an endpoint: what it does waits its turn, where `when` finds its request heavy.

    The form has arrived by then. Raises Busy for a request that has waited too long.
    """

    def decorated(endpoint: Callable[..., Done]) -> Callable[..., Awaitable[Done]]:
        @wraps(endpoint)
        async def in_turn(**given: Any) -> Done:
            work = partial(endpoint, **given)
            if not when(**given):
                return await run_in_threadpool(work)
            semaphore = await _turn_taken()
            try:
                return await run_in_threadpool(work)
            finally:
                semaphore.release()

        return in_turn

    return decorated


async def _turn_taken() -> asyncio.Semaphore:
    semaphore = _places.of_this_loop()
    try:
        async with asyncio.timeout(MAX_WAIT_S):
            await semaphore.acquire()
    except TimeoutError:
        words = say(
            "Fadeline is working on other large files, and yours has waited for {wait_s:.0f} "
            "seconds. Nothing was stored. Wait a minute, then reload this page and let the "
            "browser send everything again; or go back: your entries are still in the form.",
            wait_s=MAX_WAIT_S,
        )
        raise Busy(words, round(MAX_WAIT_S)) from None
    return semaphore
