"""Help that needs no internet: the words, and how to run a good test."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.glossary import WORDS, Term
from app.domain.i18n.message import say
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


@router.get("/words", name="words")
def show_words(request: Request) -> Response:
    reader = reader_of(request)
    in_order = sorted(WORDS, key=lambda word: reader.read(say(word.name)).casefold())
    return page(request, "words.html", WordsPage(tuple(in_order)))


@router.get("/good-test", name="good_test")
def show_good_test(request: Request) -> Response:
    return page(request, "good_test.html", GoodTestPage())
