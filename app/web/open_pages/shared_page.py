"""The page of a read-only link, as whoever got the link sees it."""

from dataclasses import dataclass
from functools import partial

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.analysis.reports.shared_report import SharedReport, SharedView
from app.charts.battery_chart import trend_chart
from app.charts.chart import Chart
from app.charts.discharge_chart import discharge_chart
from app.services.access import shares
from app.services.access.shares import OpenedShare
from app.web.lazy_routes import LazyRouter
from app.web.rendering.chart_files import asks_for_chart
from app.web.rendering.drawn_charts import drawn
from app.web.rendering.preview_card import (
    asks_for_card,
    card_address,
    card_file,
    whole_address,
)
from app.web.rendering.rendering import now_of, page, path_to, store_of
from app.web.security.middleware import ONLY_HEAD

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


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
    opened = shares.opened_share(store, token, now)
    if asks_for_card(request):
        response = card_file(request, opened.view)
    else:
        response = page(request, "shared.html", _shared_page(request, opened, token))
    # A chart of a page is no further look at it.
    if not asks_for_chart(request) and ONLY_HEAD not in request.scope:
        shares.count_view(store, token, now)
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    # The address is the secret: it must not travel on as a referrer.
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


def _shared_page(request: Request, opened: OpenedShare, token: str) -> SharedPage:
    address = whole_address(request, "shared", token=token)
    data = path_to(request, "api_shared", token=token)
    return SharedPage(opened.view, _figures(request, opened), data, address, card_address(address))


def _figures(request: Request, opened: OpenedShare) -> tuple[Chart | None, ...]:
    """The charts of the page, as they were drawn before for whoever reads like this."""
    view, state = opened.view, opened.state
    if view.test is not None:
        test = view.test
        return (drawn(request, "shared test", state, lambda: discharge_chart(test)),)

    def trend(number: int, report: SharedReport) -> Chart | None:
        return trend_chart(report, f"fade-{number}")

    return tuple(
        drawn(request, ("shared trend", number), state, partial(trend, number, report))
        for number, report in enumerate(view.batteries, start=1)
    )


def figures_of(view: SharedView) -> tuple[Chart | None, ...]:
    """The charts of what a link shows, in its order; None where there is nothing to draw."""
    if view.test is not None:
        return (discharge_chart(view.test),)
    named = enumerate(view.batteries, start=1)
    return tuple(trend_chart(report, f"fade-{number}") for number, report in named)
