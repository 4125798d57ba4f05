"""Who may ask the owner's Fadeline what: its owner everything, strangers the named paths."""

from collections.abc import Iterator
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.types import Scope

from app.domain.errors import truncate
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.services.access import auth
from app.settings import Settings
from app.web.rendering.error_pages import ErrorPage, plain_page
from app.web.rendering.rendering import page, settings_of, store_of
from app.web.request import OWNER, SECRET, bare_host, host_of, path_of, query_of
from app.web.security.cross_site import cross_site
from app.web.security.middleware import OF_LINKS
from app.web.security.requester import LOOPBACK_NAMES, Requester, signed_in, visitor_of
from app.web.security.unread import SIGN_IN, is_feed

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
HEALTH = "/health"
STRANGER = N_(
    "Only shared links open from another device. The pages of the owner open on the machine that "
    "runs Fadeline."
)


class OwnersDoor:
    """The door of the application with the owner's pages, and of the example within."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings

    async def turned_away(self, scope: Scope) -> Response | None:
        """The answer to whoever may not ask this; None lets the request in."""
        request, path = Request(scope), scope["path"]
        visitor = visitor_of(scope, self._settings)
        # Whoever is at the machine reads what is wrong, even where nothing else can be looked up.
        scope[OWNER] = visitor.owner
        # Where the answer is the same for everybody nobody is looked up.
        for_all = path == HEALTH or path.startswith(("/static/", *OF_LINKS))
        if not visitor.at_machine and not for_all:
            visitor = await run_in_threadpool(signed_in, request, visitor)
        scope[SECRET] = "" if visitor.at_machine else visitor.secret
        refusal = self._cross_site(scope, visitor)
        scope[OWNER] = visitor.owner and not refusal
        if not visitor.owner and not _is_open(scope):
            closed = await run_in_threadpool(_closed, request, visitor)
            if closed is not None:
                return closed
        if refusal:
            return plain_page(request, 403, say("Not open to you"), refusal)
        return None

    def _cross_site(self, scope: Scope, visitor: Requester) -> str:
        """Why a write is taken for another site's. A feed is no browser's, whatever it says."""
        if is_feed(scope):
            return ""
        has_session = bool(visitor.secret) and not visitor.at_machine
        public = self._settings.public_address
        return cross_site(scope, must_say=has_session, public_address=public)


def _is_open(scope: Scope) -> bool:
    path: str = scope["path"]
    return path == HEALTH or path.startswith(OPEN_PATHS) or is_feed(scope)


def _closed(request: Request, visitor: Requester) -> Response | None:
    """What a stranger gets instead of an owner's page. Raises StorageError."""
    path = path_of(request)
    if visitor.at_machine or (auth.has_passphrase(store_of(request)) and not visitor.named):
        return plain_page(request, 403, say("Not open to you"), *_not_named(request))
    if not auth.has_passphrase(store_of(request)):
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
        say("Sign in in another tab, then go back here: your entries are still in the form."),
    )
    shown = ErrorPage(say("Not signed in"), said, stranger=True, sign_in=True)
    return page(request, "error.html", shown, 403)


def _not_named(request: Request) -> Iterator[str]:
    named = truncate(request.headers.get("host", ""))
    yield say("Fadeline does not answer to the name “{named}”.", named=named)
    public = settings_of(request).public_address
    if public and bare_host(host_of(request.scope)) in LOOPBACK_NAMES:
        yield say("Open {address} instead.", address=public)
