"""What a request says of itself, read from its scope.

Never from `request.url`: it is put together from the Host header, which whoever asks may write as
he likes. What decides who gets in must not hang on it.
"""

import re
from collections.abc import Callable

from fastapi import Request
from starlette.datastructures import Headers
from starlette.types import Scope

from app.domain.i18n.message import ENGLISH, Reader
from app.domain.i18n.preferences import Preferences
from app.languages.readers import reader_with

# A name, an IPv4 address or an IPv6 address in brackets; digits as its port, and nothing else.
_HOST = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[A-Za-z0-9._-]+)(?::[0-9]{1,5})?")

_PREFERENCES = "fadeline.preferences"
# Says in the scope of a request that the owner's own machine asks for a page of the owner's.
OWNER = "fadeline.owner"
# Says there which session it came with: its secret, nothing at the machine itself.
SECRET = "fadeline.session"  # noqa: S105


def read_with(scope: Scope, preferences: Callable[[], Preferences]) -> None:
    """Answer this request as its reader prefers. It is asked by the first thing to be shown."""
    scope[_PREFERENCES] = preferences


def reader_of(request: Request) -> Reader:
    """Who reads the answer to this request; English where nobody said."""
    preferences = request.scope.get(_PREFERENCES)
    return ENGLISH if preferences is None else reader_with(preferences())


def has_owner_pages(request: Request) -> bool:
    """Whether the owner's pages are there at all; the application on the network has none."""
    return bool(getattr(request.app.state, "has_owner_pages", True))


def path_of(request: Request) -> str:
    """The path that was asked for, with the prefix of the example."""
    return str(request.scope["path"])


def query_of(request: Request) -> str:
    """What stands behind the question mark of the address, as it was sent."""
    return bytes(request.scope["query_string"]).decode("latin-1")


def host_of(scope: Scope) -> str:
    """The Host header; empty where there is none."""
    return Headers(scope=scope).get("host", "")


def is_host(text: str) -> bool:
    """Whether a Host header is a host with or without a port (RFC 9110, 7.2)."""
    return bool(_HOST.fullmatch(text))


def bare_host(text: str) -> str:
    """The host of a Host header without its port; empty for what is no host."""
    found = _HOST.fullmatch(text)
    return found[1] if found else ""


def cookie_bytes(scope: Scope) -> int:
    """The length of all cookies that came along, before any of them is read."""
    return sum(len(value) for name, value in scope["headers"] if name.lower() == b"cookie")
