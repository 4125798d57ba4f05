"""The page of a read-only link, as whoever got the link sees it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.reports.shared_report import SharedView
from app.charts.battery_chart import trend_chart
from app.charts.chart import Chart
from app.charts.discharge_chart import discharge_chart
from app.services.access import shares
from app.services.store import Store
from app.web.rendering.chart_files import asks_for_chart
from app.web.rendering.preview_card import (
    asks_for_card,
    card_address,
    card_file,
    whole_address,
)
from app.web.rendering.rendering import now_of, page, path_to, store_of
from app.web.security.middleware import ONLY_HEAD
from app.web.security.page_cache import keep

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class SharedPage:
    """What shared.html needs; figures are those of the batteries or the one of the test.

    data_address leads to the same as data; address and card are whole ones, for previews.
    """

    view: SharedView
    figures: tuple[Chart | None, ...]
    data_address: str
    address: str
    card: str


@router.get("/shared/{token}", name="shared")
def shared(request: Request, token: str) -> Response:
    store, now = store_of(request), now_of(request)
    view, until = shares.open_share_until(store, token, now)
    if asks_for_card(request):
        response = card_file(request, view)
    else:
        response = page(request, "shared.html", _shared_page(request, view, token))
    if asks_for_chart(request):
        # A crowd at a link asks for its charts as often as for the page; that is no further look.
        keep(request, until=until)
    elif ONLY_HEAD not in request.scope:
        shares.count_view(store, token, now)
        keep(request, until=until, each_time=partial(_looked_again, store, token))
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    # The address is the secret: it must not travel on as a referrer.
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


def _shared_page(request: Request, view: SharedView, token: str) -> SharedPage:
    address = whole_address(request, "shared", token=token)
    data = path_to(request, "api_shared", token=token)
    return SharedPage(view, figures_of(view), data, address, card_address(address))


def _looked_again(store: Store, token: str, now: datetime) -> Callable[[], object] | None:
    return partial(shares.store_views, store) if store.views.note(token, now) else None


def figures_of(view: SharedView) -> tuple[Chart | None, ...]:
    """The charts of a shared page, in its order; None where there is nothing to draw."""
    if view.test is not None:
        return (discharge_chart(view.test),)
    named = enumerate(view.batteries, start=1)
    return tuple(trend_chart(report, f"fade-{number}") for number, report in named)
