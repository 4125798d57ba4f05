"""The method: how every figure is made, with its sources; and the heat in plain words."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
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
from app.web.rendering.rendering import page

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


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
