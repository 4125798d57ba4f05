"""One line a request in the log, without anything that opens something."""

import logging
import re
import time
from urllib.parse import quote

from starlette.types import Scope

log = logging.getLogger("fadeline.requests")
_TOKEN = re.compile(r"((?:/shared/|/joined/[^/]*/join/)[^/]{0,4})[^/]*")


class RequestLine:
    """Written at the end of a request, however it ends; a query string never stands in it."""

    def __init__(self, scope: Scope, method: str) -> None:
        self._method = method
        self._path = loggable(scope["path"])
        self._since = time.perf_counter()
        self.status: int | None = None

    def begun(self, status: int) -> None:
        self.status = status

    def __enter__(self) -> "RequestLine":
        return self

    def __exit__(self, *_: object) -> None:
        took_ms = (time.perf_counter() - self._since) * 1000
        answered = self.status if self.status is not None else "unanswered"
        log.info("%s %s %s %.0f ms", self._method, self._path, answered, took_ms)


def loggable(path: str) -> str:
    """The path on one line, with the secret of a link shortened to where it can still be told."""
    return _TOKEN.sub(r"\1…", quote(path, safe="/…"))[:300]
