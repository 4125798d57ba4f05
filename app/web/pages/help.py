"""Help that needs no internet: the words, how to run a good test, and for own scripts."""

from dataclasses import dataclass

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.glossary import WORDS, Term
from app.domain.i18n.message import say
from app.web.rendering.feed_access import FeedAccess, feed_access
from app.web.rendering.interface import Interface, read_interface
from app.web.rendering.locale import for_owner
from app.web.rendering.reachability import address_for_others
from app.web.rendering.rendering import page
from app.web.request import reader_of

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class WordsPage:
    """What words.html needs."""

    words: tuple[Term, ...]


@dataclass(frozen=True)
class GoodTestPage:
    """What good_test.html needs: nothing of anybody."""


@dataclass(frozen=True)
class ScriptsPage:
    """What scripts.html needs. feed stands for any running test, with a word that opens none;
    address is where other devices reach this server, without the slash at its end."""

    interface: Interface
    address: str
    feed: FeedAccess


@router.get("/words", name="words")
def show_words(request: Request) -> Response:
    reader = reader_of(request)
    in_order = sorted(WORDS, key=lambda word: reader.read(say(word.name)).casefold())
    return page(request, "words.html", WordsPage(tuple(in_order)))


@router.get("/good-test", name="good_test")
def show_good_test(request: Request) -> Response:
    return page(request, "good_test.html", GoodTestPage())


# The rest of the help is open to strangers, who get the interface's description no more than the
# document that it is made of.
@router.get("/help/scripts", name="scripts", dependencies=[Depends(for_owner)])
def show_scripts(request: Request) -> Response:
    """From the application's own OpenAPI document, so that the two cannot disagree."""
    context = ScriptsPage(
        interface=read_interface(request.app.openapi()),
        address=address_for_others(request, "batteries").removesuffix("/"),
        feed=feed_access(request, "1", "WORD"),
    )
    return page(request, "scripts.html", context)
