"""What every request must pass and every response carries."""

import ipaddress
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.web.errors import plain_page

# What a stranger on the same network may see; the rest answers this machine alone.
OPEN_PATHS = ("/shared/", "/static/", "/api/shared/", "/method")
_SAFE_METHODS = ("GET", "HEAD", "OPTIONS")
_POLICY = (
    "default-src 'none'; script-src 'self'; img-src 'self' data:; connect-src 'self'; "
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


class Gate:
    """Turns away strangers and cross-site writes, and adds the protective headers."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
                if not scope["path"].startswith("/static/"):
                    headers.setdefault("Cache-Control", "no-store")
            await send(message)

        refusal = _refusal(scope)
        if refusal is not None:
            response = plain_page(Request(scope), 403, "Not open to you", refusal)
            await response(scope, receive, send_with_headers)
            return
        await self._app(scope, receive, send_with_headers)


def _refusal(scope: Scope) -> str | None:
    if not _from_this_machine(scope) and not scope["path"].startswith(OPEN_PATHS):
        return (
            "Only shared links open from another device. The pages of the owner open on the "
            "machine that runs Fadeline."
        )
    headers = Headers(scope=scope)
    origin = headers.get("origin")
    writes = scope["method"] not in _SAFE_METHODS
    # A form on some other site must not write here.
    if writes and origin is not None and urlsplit(origin).netloc != headers.get("host"):
        return "This request came from another site. Nothing was changed."
    return None


def _from_this_machine(scope: Scope) -> bool:
    client = scope.get("client")
    if client is None:
        return True
    try:
        return ipaddress.ip_address(client[0]).is_loopback
    except ValueError:
        # The in-process test client has a name instead of an address.
        return bool(client[0] == "testclient")
