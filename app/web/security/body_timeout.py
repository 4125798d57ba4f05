"""How long a body may take to arrive: a sender that drips must not hold a connection for good."""

import asyncio

from starlette.datastructures import Headers
from starlette.types import Message, Receive, Scope

# Slower than any line on which a page opens; what is sent gets time by its size.
WAIT_S = 60.0
SLOWEST_BYTES_A_S = 5_000
# The rest of the body is not waited for.
SLOW = {"Connection": "close"}


class BodyTimeout:
    """Receives the body of one request until its time is up; then it ends as if the sender left."""

    def __init__(self, scope: Scope, receive: Receive) -> None:
        length = Headers(scope=scope).get("content-length", "")
        size = int(length) if length.isdecimal() and len(length) <= 15 else 0
        self._allowed_s = WAIT_S + size / SLOWEST_BYTES_A_S
        self._receive = receive
        self._until: float | None = None
        self._whole = False
        self.too_slow = False

    async def __call__(self) -> Message:
        if self._whole:
            # What is waited for now is that the reader leaves.
            return await self._receive()
        if self._until is None:
            self._until = asyncio.get_running_loop().time() + self._allowed_s
        try:
            async with asyncio.timeout_at(self._until):
                message = await self._receive()
        except TimeoutError:
            self.too_slow = True
            return {"type": "http.disconnect"}
        self._whole = not message.get("more_body", False)
        return message
