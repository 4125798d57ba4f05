"""The method: how every figure is made, with its sources."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.coefficients import (
    RateExponent,
    TemperatureCoefficient,
    rate_exponent,
    temperature_coefficient,
)
from app.domain.chemistry import Chemistry
from app.web.pages import page

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class MethodPage:
    """What method.html needs: the coefficients by chemistry, None where nothing is published."""

    temperature: tuple[tuple[Chemistry, TemperatureCoefficient | None], ...]
    rate: tuple[tuple[Chemistry, RateExponent | None], ...]
    chemistries: tuple[Chemistry, ...] = tuple(Chemistry)


@router.get("/method", name="method")
def show_method(request: Request) -> Response:
    context = MethodPage(
        temperature=tuple((kind, temperature_coefficient(kind)) for kind in Chemistry),
        rate=tuple((kind, rate_exponent(kind)) for kind in Chemistry),
    )
    return page(request, "method.html", context)
