"""Help that is open to all and needs no internet: the words, a good test, the method with the
sources of every figure, and the heat in plain words."""

from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.ageing.exposure import LFP_RULES, AgeingRule
from app.analysis.corrections.coefficients import (
    OfTemperature,
    RateExponent,
    rate_exponent,
    temperature_coefficient,
)
from app.analysis.heat.heat_in_plain_words import WarmthRow, warmth_table
from app.domain.chemistry import Chemistry
from app.domain.glossary import WORDS, Term
from app.domain.i18n.message import say
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import page
from app.web.request import reader_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class WordsPage:
    """What words.html needs."""

    words: tuple[Term, ...]


@dataclass(frozen=True)
class GoodTestPage:
    """What good_test.html needs: nothing of anybody."""


@dataclass(frozen=True)
class MethodPage:
    """What method.html needs: the coefficients by chemistry, None where nothing is published."""

    temperature: tuple[tuple[Chemistry, OfTemperature | None], ...]
    rate: tuple[tuple[Chemistry, RateExponent | None], ...]
    chemistries: tuple[Chemistry, ...] = tuple(Chemistry)


@dataclass(frozen=True)
class PlainHeatPage:
    """What plain_heat.html needs."""

    rows: tuple[WarmthRow, ...]
    rules: tuple[AgeingRule, ...] = LFP_RULES


@router.get("/words", name="words")
def show_words(request: Request) -> Response:
    reader = reader_of(request)
    in_order = sorted(WORDS, key=lambda word: reader.read(say(word.name)).casefold())
    return page(request, "words.html", WordsPage(tuple(in_order)))


@router.get("/good-test", name="good_test")
def show_good_test(request: Request) -> Response:
    return page(request, "good_test.html", GoodTestPage())


@router.get("/method", name="method")
def show_method(request: Request) -> Response:
    context = MethodPage(
        temperature=tuple((kind, temperature_coefficient(kind)) for kind in Chemistry),
        rate=tuple((kind, rate_exponent(kind)) for kind in Chemistry),
    )
    return page(request, "method.html", context)


@router.get("/heat-in-plain-words", name="plain_heat")
def show_plain_heat(request: Request) -> Response:
    """For somebody who doubts, to the end, with its sources."""
    return page(request, "plain_heat.html", PlainHeatPage(warmth_table()))
