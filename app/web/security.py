"""What every request must pass and every response carries."""

import logging
import re
import secrets
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.domain.attachment import UPLOAD_LIMIT_MB
from app.domain.errors import StorageTrouble, shorten
from app.domain.marks import N_
from app.domain.message import say
from app.services import door
from app.settings import Settings
from app.web.entry import Visitor, signed_in, visitor_of
from app.web.errors import ErrorPage, plain_page
from app.web.form_token import forms_of
from app.web.look import OWNER, SECRET
from app.web.pages import page, store_of
from app.web.patience import SLOW, Patience
from app.web.request import cookie_bytes, host_of, is_host, path_of, query_of
from app.web.request_log import RequestLine

# What a stranger may see; the rest is its owner's.
OPEN_PATHS = (
    "/shared/",
    "/static/",
    "/api/shared/",
    "/method",
    "/words",
    "/good-test",
    "/heat-in-plain-words",
)
HEALTH, SIGN_IN = "/health", "/sign-in"
_OF_LINKS = ("/shared/", "/api/shared/")
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
    "This is a fault of Fadeline; what was stored before is still there. Its log says more beside "
    "the reference {reference}."
)
STRANGER = N_(
    "Only shared links open from another device. The pages of the owner open on the machine that "
    "runs Fadeline."
)
NO_HOST = N_(
    "This request names its host as “{named}”. A host is a name or an address, with digits as its "
    "port: type the address again."
)
TOO_MANY_COOKIES = N_(
    "Your browser sends {size:,} bytes of cookies to this address, and at most {most:,} are read. "
    "Delete the cookies of this address in the browser and load the page again. Your records are "
    "not touched."
)
TOO_SLOW = N_("What was sent took too long to arrive. Nothing was stored; send it again.")
log = logging.getLogger("fadeline")


class Gate:
    """Turns away strangers and cross-site writes, and adds the protective headers."""

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self._app = app
        self._settings = settings

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
            await self._answer(scope, Patience(scope, receive), send_with_headers, line)

    async def _answer(self, scope: Scope, receive: Patience, send: Send, line: RequestLine) -> None:
        # Before anything of it is read, or written to the disk.
        refused = _refused_unread(scope)
        if refused is not None:
            await refused(scope, receive, send)
            return
        try:
            turned_away = await self._turned_away(scope)
            if turned_away is not None:
                await turned_away(scope, receive, send)
                return
            with forms_of(scope[SECRET]):
                await self._app(scope, receive, send)
        except StorageTrouble as trouble:
            response = plain_page(
                Request(scope), 503, say("The data file is in trouble"), trouble.words
            )
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

    async def _turned_away(self, scope: Scope) -> Response | None:
        """The answer to whoever may not ask this; None lets the request in."""
        request, path = Request(scope), scope["path"]
        visitor = visitor_of(scope, self._settings)
        # Where the answer is the same for everybody nobody is looked up.
        if not visitor.at_machine and not path.startswith(("/static/", *_OF_LINKS)):
            visitor = await run_in_threadpool(signed_in, request, visitor)
        scope[SECRET] = "" if visitor.at_machine else visitor.secret
        refusal = _cross_site(scope, visitor, self._settings)
        scope[OWNER] = visitor.owner and not refusal
        if not visitor.owner and not _is_open(scope):
            closed = await run_in_threadpool(_closed, request, visitor)
            if closed is not None:
                return closed
        if refusal:
            return plain_page(request, 403, say("Not open to you"), refusal)
        return None

    def _add_headers(self, path: str, message: Message) -> None:
        headers = MutableHeaders(scope=message)
        if path.startswith(_OF_LINKS):
            headers.update(_LINK_HEADERS)
        for name, value in _HEADERS.items():
            headers.setdefault(name, value)
        if not path.startswith("/static/"):
            headers.setdefault("Cache-Control", "no-store")
        if self._settings.https:
            headers["Strict-Transport-Security"] = _HTTPS_ALONE


def _is_open(scope: Scope) -> bool:
    path: str = scope["path"]
    return path == HEALTH or path.startswith(OPEN_PATHS) or _is_feed(scope)


def _closed(request: Request, visitor: Visitor) -> Response | None:
    """What a stranger gets instead of an owner's page. Raises StorageTrouble."""
    path = path_of(request)
    if visitor.at_machine or (door.has_passphrase(store_of(request)) and not visitor.named):
        named = shorten(request.headers.get("host", ""))
        return plain_page(
            request,
            403,
            say("Not open to you"),
            say("Fadeline does not answer to the name “{named}”.", named=named),
        )
    if not door.has_passphrase(store_of(request)):
        return plain_page(request, 403, say("Not open to you"), say(STRANGER))
    if path == SIGN_IN:
        return None
    if path.startswith("/api/"):
        return plain_page(request, 403, say("Not open to you"), say("Sign in first."))
    if request.method == "GET":
        query = query_of(request)
        back = f"{path}?{query}" if query else path
        return RedirectResponse(f"{SIGN_IN}?back={quote(back, safe='')}", status_code=303)
    said = (
        say("You are not signed in, or no longer. Nothing was stored."),
        say("Sign in in another tab, then go back here: what you typed still stands in the form."),
    )
    shown = ErrorPage(say("Not signed in"), said, stranger=True, sign_in=True)
    return page(request, "error.html", shown, 403)


def _cross_site(scope: Scope, visitor: Visitor, settings: Settings) -> str:
    """Why a write is taken for another site's; empty where it is not.

    Both headers are the browser's own, which no script can set. A program without a browser sends
    neither; it has no business with a session.
    """
    if scope["method"] in _SAFE_METHODS or _is_feed(scope):
        return ""
    headers = Headers(scope=scope)
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if origin is None and site is None and visitor.secret and not visitor.at_machine:
        return say("This request does not say which site it came from. Nothing was changed.")
    from_elsewhere = origin is not None and not _is_own(origin, host_of(scope), settings)
    if from_elsewhere or site not in (None, "same-origin", "none"):
        return say("This request came from another site. Nothing was changed.")
    return ""


def _is_own(origin: str, named: str, settings: Settings) -> bool:
    if settings.public_address:
        return origin == settings.public_address
    # As every browser writes it: the scheme and the host, nothing behind them (RFC 6454, 6.2).
    return origin in (f"http://{named}", f"https://{named}")


def _is_feed(scope: Scope) -> bool:
    return scope["method"] == "POST" and bool(_FEED.fullmatch(scope["path"]))


def _refused_unread(scope: Scope) -> Response | None:
    """The answer to what is not even read; None where it may be."""
    request, named, cookies = Request(scope), host_of(scope), cookie_bytes(scope)
    if named and not is_host(named):
        return plain_page(
            request, 400, say("That did not work"), say(NO_HOST, named=shorten(named))
        )
    if cookies > MAX_COOKIE_BYTES:
        said = say(TOO_MANY_COOKIES, size=cookies, most=MAX_COOKIE_BYTES)
        return plain_page(request, 431, say("Too much at once"), said)
    too_much = _too_much(scope)
    return plain_page(request, 413, say("Too much at once"), too_much) if too_much else None


def _too_much(scope: Scope) -> str:
    """Why a body is not even read; empty where it may be. Every write says its length."""
    headers = Headers(scope=scope)
    length = headers.get("content-length", "")
    known = length.isdecimal() and len(length) <= 15
    if _is_feed(scope):
        if known and int(length) <= MAX_FED_BYTES:
            return ""
        return say(
            "A feed says how much it sends, and sends at most {most:,} bytes.", most=MAX_FED_BYTES
        )
    if "transfer-encoding" in headers or (length and not known):
        return say("A form says how much it sends; this one does not. Nothing was stored.")
    if scope["path"] == SIGN_IN and length and int(length) > MAX_TO_SIGN_IN_BYTES:
        return say("A sign-in sends at most {most:,} bytes.", most=MAX_TO_SIGN_IN_BYTES)
    if not length or int(length) <= MAX_POSTED_BYTES:
        return ""
    return say(
        "This is {size_mb:.0f} MB; a file may have at most {most_mb} MB. Nothing was stored. Go "
        "back: what you typed still stands in the form.",
        size_mb=int(length) / 1_000_000,
        most_mb=UPLOAD_LIMIT_MB,
    )
