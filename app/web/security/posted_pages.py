"""Pages that answer a form, waiting under an address of their own, so that going back finds them.

A browser keeps an answer to a form only as “send it again”: going back to it fails (Chromium) or
asks whether to send it once more. So a preview or a refusal is kept for a while and the browser is
sent on to it (303). Who asked for it, and nobody else, gets it under a name that cannot be guessed.
A program that posts gets the page at once: it does not say that it reads pages.
"""

import re
from hashlib import sha256
from urllib.parse import parse_qs, quote

from fastapi import Request
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.services.exchange.kept_pages import NAME, KeptPage, find_page, keep_page
from app.web.forms.form_reader import safe_redirect_path
from app.web.rendering.rendering import path_within, store_of
from app.web.request import OWNER, SECRET, query_of

MAX_BYTES_A_PAGE = 4_000_000
_ADDRESS = re.compile(f"/sent/({NAME})")
_STATUSES = (200, 409, 422)


class PostedPages:
    """Behind the gate, which has decided by then who asks; the example has one of its own."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or not scope.get(OWNER):
            await self._app(scope, receive, send)
            return
        request = Request(scope)
        asked = _ADDRESS.fullmatch(path_within(request)) if request.method == "GET" else None
        if asked:
            shown = await run_in_threadpool(_shown, request, asked[1])
            await shown(scope, receive, send)
        elif request.method == "POST" and "text/html" in request.headers.get("accept", ""):
            await self._app(scope, receive, _Waiting(request, send))
        else:
            await self._app(scope, receive, send)


class _Waiting:
    """Takes an answer in; a page is kept and its address sent instead, anything else goes on."""

    def __init__(self, request: Request, send: Send) -> None:
        self._request, self._send = request, send
        self._start: Message | None = None
        self._body = b""

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start" and _may_wait(message):
            self._start = message
            return
        if self._start is None:
            await self._send(message)
            return
        self._body += message.get("body", b"")
        more = message.get("more_body", False)
        if more and len(self._body) <= MAX_BYTES_A_PAGE:
            return
        start, self._start = self._start, None
        name = ""
        if len(self._body) <= MAX_BYTES_A_PAGE:
            name = await run_in_threadpool(_kept, self._request, start, self._body)
        if name:
            await _sent_on(self._request, name)(self._request.scope, _nothing, self._send)
        else:
            await self._send(start)
            await self._send({**message, "body": self._body, "more_body": more})


def _shown(request: Request, name: str) -> Response:
    """The page of this name; where its time is over, the way to the page of the form."""
    page = find_page(store_of(request), name, _asked_by(request))
    if page is None:
        form = parse_qs(query_of(request)).get("of", ["/"])[0]
        return Response(status_code=303, headers={"Location": safe_redirect_path(form)})
    return Response(page.body, page.status, dict(page.headers))


def _kept(request: Request, start: Message, body: bytes) -> str:
    headers = Headers(raw=start["headers"]).items()
    page = KeptPage(_asked_by(request), start["status"], tuple(headers), body)
    return keep_page(store_of(request), page)


def _sent_on(request: Request, name: str) -> Response:
    path, prefix = request.scope["path"], request.scope.get("root_path", "")
    target = f"{prefix}/sent/{name}?of={quote(path, safe='')}"
    return Response(status_code=303, headers={"Location": target})


async def _nothing() -> Message:
    return {"type": "http.disconnect"}


def _may_wait(start: Message) -> bool:
    """Whether it is a page that may be shown again. One that says itself how long it is kept may
    not, nor one that gives the browser something to keep."""
    headers = Headers(raw=start["headers"])
    page = headers.get("content-type", "").startswith("text/html")
    own = "cache-control" in headers or "set-cookie" in headers
    return page and not own and start["status"] in _STATUSES


def _asked_by(request: Request) -> str:
    """Whose session it is; at the machine itself all are its owner."""
    return sha256(str(request.scope.get(SECRET, "")).encode()).hexdigest()
