"""What is refused before it is read: a host that is none, cookies and bodies too long."""

import re

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Scope

from app.domain.errors import truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.attachment import UPLOAD_LIMIT_MB
from app.web.rendering.error_pages import plain_page
from app.web.request import cookie_bytes, host_of, is_host

SIGN_IN = "/sign-in"
# A feed carries its own word, which opens one run and nothing else.
_FEED = re.compile(r"/api/runs/\d+/readings")
MAX_FED_BYTES = 2_000_000
# A stranger may send no more: a passphrase and where to go on.
MAX_TO_SIGN_IN_BYTES = 20_000
# Above the limit of a file, so that one a little too large is refused beside its field.
MAX_POSTED_BYTES = 4 * UPLOAD_LIMIT_MB * 1_000_000
# Python before 3.11.10 and 3.12.6 takes 13 s for 60 kB of backslashes in a cookie. Ours are short;
# those of other programs on the same host come along.
MAX_COOKIE_BYTES = 4096
NO_HOST = N_(
    "This request names its host as “{named}”. A host is a name or an address, with digits as its "
    "port: type the address again."
)
TOO_MANY_COOKIES = N_(
    "Your browser sends {size:,} bytes of cookies to this address, and at most {most:,} are read. "
    "Delete the cookies of this address in the browser and load the page again. Your records are "
    "not touched."
)


def refused_unread(scope: Scope) -> Response | None:
    """The answer to what is not even read; None where it may be."""
    request, named, cookies = Request(scope), host_of(scope), cookie_bytes(scope)
    if named and not is_host(named):
        return plain_page(
            request, 400, say("That did not work"), say(NO_HOST, named=truncate(named))
        )
    if cookies > MAX_COOKIE_BYTES:
        said = say(TOO_MANY_COOKIES, size=cookies, most=MAX_COOKIE_BYTES)
        return plain_page(request, 431, say("Too much at once"), said)
    too_much = _too_much(scope)
    return plain_page(request, 413, say("Too much at once"), too_much) if too_much else None


def is_feed(scope: Scope) -> bool:
    """Whether a program feeds readings to a run."""
    return scope["method"] == "POST" and bool(_FEED.fullmatch(scope["path"]))


def _too_much(scope: Scope) -> str:
    """Why a body is not even read; empty where it may be. Every write says its length."""
    headers = Headers(scope=scope)
    length = headers.get("content-length", "")
    known = length.isdecimal() and len(length) <= 15
    if is_feed(scope):
        if known and int(length) <= MAX_FED_BYTES:
            return ""
        return say(
            "A feed must state its size and may send at most {most:,} bytes.", most=MAX_FED_BYTES
        )
    if "transfer-encoding" in headers or (length and not known):
        return say("This form did not state its size. Nothing was stored.")
    if scope["path"] == SIGN_IN and length and int(length) > MAX_TO_SIGN_IN_BYTES:
        return say("A sign-in may send at most {most:,} bytes.", most=MAX_TO_SIGN_IN_BYTES)
    if not length or int(length) <= MAX_POSTED_BYTES:
        return ""
    return say(
        "This is {size_mb:.0f} MB; a file may have at most {most_mb} MB. Nothing was stored. Go "
        "back: your entries are still in the form.",
        size_mb=int(length) / 1_000_000,
        most_mb=UPLOAD_LIMIT_MB,
    )
