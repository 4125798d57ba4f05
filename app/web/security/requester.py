"""Who asks: somebody at the machine itself, a device that signed in, or a stranger.

Addresses are believed only where nothing stands between: a request that came through a proxy comes
from the proxy's machine, often this one, whoever sent it. What a proxy says of the sender gives
nobody a right; it only tells attempts to sign in apart.
"""

import ipaddress
from dataclasses import dataclass
from urllib.parse import urlsplit

from fastapi import Request
from starlette.datastructures import Headers
from starlette.types import Scope

from app.services.access import auth
from app.settings import Settings
from app.web.rendering.rendering import now_of, settings_of, store_of
from app.web.request import SECRET, bare_host, host_of, path_of

# The prefix makes browsers take it over https alone and for this very host (RFC 6265bis).
COOKIE, COOKIE_OF_HTTPS = "session", "__Host-session"
LOOPBACK_NAMES = ("localhost", "127.0.0.1", "[::1]")
_BY_PROXIES = (
    "forwarded",
    "via",
    "x-forwarded-for",
    "x-forwarded-host",
    "x-forwarded-proto",
    "x-real-ip",
)


@dataclass(frozen=True)
class Requester:
    """Who asks. named says that the host name is one that this server answers to; at_machine and
    secret are two ways of being its owner."""

    named: bool
    at_machine: bool
    secret: str = ""

    @property
    def owner(self) -> bool:
        return self.named and (self.at_machine or bool(self.secret))


def visitor_of(scope: Scope, settings: Settings) -> Requester:
    """Who asks, as far as the connection tells; the session is looked at by signed_in."""
    named = names_this_server(scope, settings)
    nobody_between = not settings.public_address and not _through_a_proxy(scope)
    return Requester(named, nobody_between and _from_this_machine(scope))


def signed_in(request: Request, visitor: Requester) -> Requester:
    """The requester with its open session, if it has one. Raises StorageError."""
    secret = request.cookies.get(cookie_name(settings_of(request)), "")
    if not secret or not visitor.named:
        return visitor
    # What a page asks for by itself does not keep its session open.
    uses = not path_of(request).startswith("/api/")
    found = auth.find_session(store_of(request), secret, now_of(request), uses=uses)
    return visitor if found is None else Requester(True, visitor.at_machine, secret)


def cookie_name(settings: Settings) -> str:
    return COOKIE_OF_HTTPS if settings.https else COOKIE


def secret_of(request: Request) -> str:
    """The secret of the session that this request came with; empty on the machine itself."""
    return str(request.scope.get(SECRET, ""))


def sender_of(request: Request) -> str:
    """Whose attempts are counted together: an address, of IPv6 the network (RFC 6177: a /64)."""
    host = (request.scope.get("client") or ("unknown",))[0]
    if settings_of(request).public_address:
        # The last one is what the nearest proxy itself wrote down.
        said = request.headers.getlist("x-forwarded-for") or [host]
        host = said[-1].rsplit(",", 1)[-1].strip()
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return "unknown"
    address = getattr(address, "ipv4_mapped", None) or address
    if address.version == 6:
        return str(ipaddress.ip_network((address, 64), strict=False))
    return str(address)


def names_this_server(scope: Scope, settings: Settings) -> bool:
    """Whether the Host header is a name that the owner's pages answer to.

    A foreign name that points here is how a web page reaches into a home network.
    """
    named = host_of(scope).lower()
    if settings.public_address:
        return named == urlsplit(settings.public_address).netloc
    name = bare_host(named)
    host, server = settings.host, (scope.get("server") or ("",))[0]
    return bool(name) and name in (*LOOPBACK_NAMES, host, f"[{host}]", server, f"[{server}]")


def _through_a_proxy(scope: Scope) -> bool:
    """Whether anything says that a proxy passed this on. It can only take a right away."""
    headers = Headers(scope=scope)
    # No browser has sent HTTP/1.0 for decades; a proxy that was left as it comes may.
    return scope.get("http_version") == "1.0" or any(name in headers for name in _BY_PROXIES)


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
    return bool((mapped or address).is_loopback)
