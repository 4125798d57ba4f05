"""Who reads the answer to a request: the owner as preferred, anybody else as their device asks."""

from dataclasses import replace
from functools import cache

from fastapi import Request

from app.domain.preferences import Language, Preferences
from app.domain.saying import USUAL, written_for
from app.services.preferences import preferences_of


async def for_owner(request: Request) -> None:
    """Dependency of the owner's pages. It is asynchronous so that the page sees what it sets."""
    store, asked = request.app.state.store, asked_language(request)

    def chosen() -> Preferences:
        kept = preferences_of(store)
        return replace(kept, language=asked) if kept.language is Language.DEVICE else kept

    # Read by the first text or number that is shown.
    written_for(cache(chosen))


async def for_anybody(request: Request) -> None:
    """Dependency of pages that others read as well: nothing of what the owner chose shows there."""
    reader = replace(USUAL, language=asked_language(request))
    written_for(lambda: reader)


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
