"""What every request must pass and every response carries."""

import logging
import secrets
from typing import Protocol

from starlette.datastructures import MutableHeaders
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.domain.errors import StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.web.forms.csrf import forms_of
from app.web.rendering.error_pages import plain_page, records_trouble
from app.web.request import SECRET
from app.web.security.access_log import RequestLine
from app.web.security.body_timeout import SLOW, BodyTimeout
from app.web.security.unread import refused_unread

OF_LINKS = ("/shared/", "/api/shared/")
_POLICY = (
    "default-src 'none'; script-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "manifest-src 'self'; "
    # The chart library writes its own style elements.
    "style-src 'self' 'unsafe-inline'; "
    "font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
_LINK_HEADERS = {
    # The address is the secret: it must not travel on as a referrer, nor into an index.
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow",
}
# Two years, as the lists of browsers ask for (from memory).
_HTTPS_ALONE = "max-age=63072000"

# Says in the scope of a request that its page will not be read.
ONLY_HEAD = "fadeline.only_head"
FAULT = N_(
    "Something in Fadeline went wrong; everything you stored before is still there. Its log has "
    "the details under the reference {reference}."
)
TOO_SLOW = N_("The data took too long to arrive. Nothing was stored; send them again.")
log = logging.getLogger("fadeline")


class Door(Protocol):
    """Decides who may ask what of one application."""

    async def turned_away(self, scope: Scope) -> Response | None:
        """The answer to whoever may not ask this; None lets the request in.

        The scope then says whether the owner asks (OWNER) and by which sign-in (SECRET).
        """


class SecurityMiddleware:
    """Asks the door of its application, adds the protective headers, and logs each request."""

    def __init__(self, app: ASGIApp, door: Door, *, https: bool = False) -> None:
        self._app = app
        self._door = door
        self._https = https

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            # Nothing here speaks so, and nothing of it would be looked at.
            await send({"type": "websocket.close", "code": 1008})
            return
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        only_head = scope["method"] == "HEAD"
        if only_head:
            scope = {**scope, "method": "GET", ONLY_HEAD: True}
        line = RequestLine(scope, "HEAD" if only_head else scope["method"])

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                line.begun(message["status"])
                self._add_headers(scope["path"], message)
            elif only_head:
                message = {**message, "body": b""}
            await send(message)

        with line:
            await self._answer(scope, BodyTimeout(scope, receive), send_with_headers, line)

    async def _answer(
        self, scope: Scope, receive: BodyTimeout, send: Send, line: RequestLine
    ) -> None:
        # Before anything of it is read, or written to the disk.
        refused = refused_unread(scope)
        if refused is not None:
            await refused(scope, receive, send)
            return
        try:
            turned_away = await self._door.turned_away(scope)
            if turned_away is not None:
                await turned_away(scope, receive, send)
                return
            with forms_of(scope[SECRET]):
                await self._app(scope, receive, send)
        except StorageError as trouble:
            response = records_trouble(Request(scope), trouble)
            await response(scope, receive, send)
        except ClientDisconnect:
            if receive.too_slow and line.status is None:
                response = plain_page(Request(scope), 408, say("Too slow"), say(TOO_SLOW))
                response.headers.update(SLOW)
                await response(scope, receive, send)
        except Exception as error:
            # The log shows the fault, the page only that there was one.
            reference = secrets.token_hex(4)
            log.error("unexpected error, reference %s", reference, exc_info=error)
            if line.status is not None:
                raise
            fault = say(FAULT, reference=reference)
            response = plain_page(Request(scope), 500, say("Something went wrong"), fault)
            await response(scope, receive, send)

    def _add_headers(self, path: str, message: Message) -> None:
        headers = MutableHeaders(scope=message)
        if path.startswith(OF_LINKS):
            headers.update(_LINK_HEADERS)
        for name, value in _HEADERS.items():
            headers.setdefault(name, value)
        if not path.startswith("/static/"):
            headers.setdefault("Cache-Control", "no-store")
        if self._https:
            headers["Strict-Transport-Security"] = _HTTPS_ALONE
