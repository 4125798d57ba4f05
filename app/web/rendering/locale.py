"""Who reads the answer to a request: the owner as preferred, anybody else as their device asks."""

from dataclasses import replace
from functools import cache

from fastapi import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from app.domain.i18n.preferences import Language, Preferences
from app.services.access.preferences import last_preferences
from app.web.rendering.rendering import EXAMPLE
from app.web.request import OWNER, read_with


async def for_owner(request: Request) -> None:
    """Dependency of the owner's pages. It is asynchronous so that the page sees what it sets."""
    store, asked = request.app.state.store, asked_language(request)

    def chosen() -> Preferences:
        # The page that tells of a trouble with the records is written all the same.
        kept = last_preferences(store)
        return replace(kept, language=asked) if kept.language is Language.DEVICE else kept

    read_with(request.scope, cache(chosen))


async def for_owner_or_device(request: Request) -> None:
    """Dependency of pages that strangers open too: the owner reads them as preferred."""
    if request.scope.get(OWNER):
        await for_owner(request)


class LocaleMiddleware:
    """Lets every page answer in the language that its device asks for, errors too.

    What the owner chose is read by `for_owner`, after it. What machines read is English.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http" and not _read_by_machines(scope["path"]):
            preferences = Preferences(language=asked_language(Request(scope)))
            read_with(scope, lambda: preferences)
        await self._app(scope, receive, send)


def _read_by_machines(path: str) -> bool:
    return path.removeprefix(EXAMPLE).startswith("/api/")


def asked_language(request: Request) -> Language:
    """The first language that the browser names and we know (RFC 9110, 12.5.4), else English."""
    wanted = []
    for part in request.headers.get("accept-language", "").split(","):
        tag, _, weight = part.partition(";q=")
        try:
            quality = float(weight or 1)
        except ValueError:
            continue
        wanted.append((-quality, tag.strip().casefold().split("-")[0]))
    known = {one.value: one for one in (Language.ENGLISH, Language.GERMAN)}
    # Sorting is stable: of equal weights the one that stands first.
    for refused, tag in sorted(wanted, key=lambda one: one[0]):
        if refused < 0 and tag in known:
            return known[tag]
    return Language.ENGLISH
