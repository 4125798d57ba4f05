"""Pages of read-only links: making and revoking them, and what they show."""

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.analysis.shared_report import SharedReport
from app.charts.fade_chart import fade_chart
from app.domain.errors import FadelineError, problems_of
from app.services import shares
from app.web.batteries import battery_page
from app.web.form import FormReader, posted, texts
from app.web.pages import Id, now_of, page, see_other, store_of

router = APIRouter(include_in_schema=False, default_response_class=HTMLResponse)


class Lasting(StrEnum):
    """How long a link opens."""

    WEEK = "7"
    MONTH = "30"
    QUARTER = "91"
    YEAR = "365"
    FOR_GOOD = "0"


@dataclass(frozen=True)
class SharedPage:
    """What shared.html needs."""

    report: SharedReport
    figure: object | None


@router.get("/shared/{token}", name="shared")
def shared(request: Request, token: str) -> Response:
    report = shares.open_share(store_of(request), token, now_of(request))
    figure = None
    if report.tests:
        marked = [(event.on_date, event.kind) for event in report.events]
        figure = fade_chart(report.tests, report.fade, report.end_of_life, report.rated_ah, marked)
    response = page(request, "shared.html", SharedPage(report, figure))
    response.headers["X-Robots-Tag"] = "noindex, nofollow"
    # The address is the secret: it must not travel on as a referrer.
    response.headers["Referrer-Policy"] = "no-referrer"
    return response


@router.post("/batteries/{battery_id}/shares", name="share_battery")
def share_battery(
    request: Request, battery_id: Id, form: Annotated[FormData, Depends(posted)]
) -> Response:
    values = texts(form)
    reader = FormReader(values)
    label = reader.text("label", "for whom", 80)
    days = int(reader.choice("lasting", "how long it opens", Lasting))
    now = now_of(request)
    expires = now + timedelta(days=days) if days else None
    try:
        reader.finish()
        shares.share_battery(store_of(request), battery_id, label, expires, now)
    except FadelineError as error:
        return battery_page(request, battery_id, values, problems_of(error))
    return _to_links(request, battery_id)


@router.post("/shares/{share_id}/revoke", name="revoke_share")
def revoke_share(request: Request, share_id: Id) -> Response:
    share = shares.revoke_share(store_of(request), share_id, now_of(request))
    return _to_links(request, share.battery_id)


def _to_links(request: Request, battery_id: Id) -> Response:
    response = see_other(request, "battery", battery_id=battery_id)
    response.headers["Location"] += "#links"
    return response
