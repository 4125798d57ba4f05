"""What every request must pass and every response carries."""

import ipaddress
import logging
import re
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.domain.attachment import UPLOAD_LIMIT_MB
from app.domain.errors import shorten
from app.web.errors import plain_page
from app.web.look import OWNER

# What a stranger on the same network may see; the rest answers this machine alone.
OPEN_PATHS = (
    "/shared/",
    "/static/",
    "/api/shared/",
    "/method",
    "/words",
    "/good-test",
    "/heat-in-plain-words",
)
# A feed carries its own word, which opens one run and nothing else.
_FEED = re.compile(r"/api/runs/\d+/readings")
MOST_FED_BYTES = 2_000_000
# Above the limit of a file, so that one a little too large is refused beside its field.
MOST_POSTED_BYTES = 4 * UPLOAD_LIMIT_MB * 1_000_000
_SAFE_METHODS = ("GET", "HEAD", "OPTIONS")
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
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}


# Says in the scope of a request that its page will not be read.
ONLY_HEAD = "fadeline.only_head"
_LOOPBACK_NAMES = ("localhost", "127.0.0.1", "[::1]")
FAULT = (
    "This is a fault of Fadeline; the window it was started from says more. What was stored "
    "before is still there."
)
log = logging.getLogger("fadeline")


class Gate:
    """Turns away strangers and cross-site writes, and adds the protective headers."""

    def __init__(self, app: ASGIApp, host: str) -> None:
        self._app = app
        self._host = host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        begun = False
        only_head = scope["method"] == "HEAD"
        if only_head:
            scope = {**scope, "method": "GET", ONLY_HEAD: True}

        async def send_with_headers(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
                if not scope["path"].startswith("/static/"):
                    headers.setdefault("Cache-Control", "no-store")
            elif only_head:
                message = {**message, "body": b""}
            await send(message)

        too_much = _too_much(scope)
        if too_much:
            # Before anything of it is read, or written to the disk.
            response = plain_page(Request(scope), 413, "Too much at once", too_much)
            await response(scope, receive, send_with_headers)
            return
        refusal = _refusal(scope, self._host)
        scope[OWNER] = refusal is None and _from_this_machine(scope)
        if refusal is not None:
            response = plain_page(Request(scope), 403, "Not open to you", refusal)
            await response(scope, receive, send_with_headers)
            return
        try:
            await self._app(scope, receive, send_with_headers)
        except Exception as error:
            # The window shows the fault, the page only that there was one.
            log.exception("unexpected error", exc_info=error)
            if begun:
                raise
            response = plain_page(Request(scope), 500, "Something went wrong", FAULT)
            await response(scope, receive, send_with_headers)


def _refusal(scope: Scope, host: str) -> str | None:
    headers = Headers(scope=scope)
    named = headers.get("host", "")
    if not scope["path"].startswith(OPEN_PATHS) and not _is_feed(scope):
        if not _from_this_machine(scope):
            return (
                "Only shared links open from another device. The pages of the owner open on the "
                "machine that runs Fadeline."
            )
        if not _names_this_machine(scope, named, host):
            # A foreign name that points here is how a web page reaches into a home network.
            return f"Fadeline does not answer to the name “{shorten(named)}”."
    origin = headers.get("origin")
    writes = scope["method"] not in _SAFE_METHODS
    # A form on some other site must not write here.
    if writes and origin is not None and urlsplit(origin).netloc != named:
        return "This request came from another site. Nothing was changed."
    return None


def _is_feed(scope: Scope) -> bool:
    return scope["method"] == "POST" and bool(_FEED.fullmatch(scope["path"]))


def _too_much(scope: Scope) -> str:
    """Why a body is not even read; empty where it may be. Every write says its length."""
    headers = Headers(scope=scope)
    length = headers.get("content-length", "")
    known = length.isdecimal() and len(length) <= 15
    if _is_feed(scope):
        if known and int(length) <= MOST_FED_BYTES:
            return ""
        return f"A feed says how much it sends, and sends at most {MOST_FED_BYTES} bytes."
    if "transfer-encoding" in headers or (length and not known):
        return "A form says how much it sends; this one does not. Nothing was stored."
    if not length or int(length) <= MOST_POSTED_BYTES:
        return ""
    return (
        f"This is {int(length) / 1_000_000:.0f} MB; a file may have at most {UPLOAD_LIMIT_MB} MB. "
        "Nothing was stored. Go back: what you typed still stands in the form."
    )


def _names_this_machine(scope: Scope, named: str, host: str) -> bool:
    name = named.rsplit(":", 1)[0] if not named.endswith("]") else named
    server = (scope.get("server") or ("",))[0]
    return name in (*_LOOPBACK_NAMES, host, f"[{host}]", server, f"[{server}]")


def _from_this_machine(scope: Scope) -> bool:
    client, server = scope.get("client"), scope.get("server")
    if client is None:
        return True
    # A connection from the machine to its own address on the network comes from that address.
    if server is not None and client[0] == server[0]:
        return True
    try:
        address = ipaddress.ip_address(client[0])
    except ValueError:
        return False
    mapped = getattr(address, "ipv4_mapped", None)
    return (mapped or address).is_loopback
