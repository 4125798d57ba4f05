"""The owner's pages of read-only links: choosing, making and revoking them."""

import io
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import FormData
from starlette.responses import Response

from app.analysis.reports.shared_report import SharedView
from app.charts.chart import Chart
from app.domain.entities.battery import Battery
from app.domain.errors import FadelineError, FieldError, problems_of
from app.domain.network import OpenNetwork
from app.domain.share import Share, SharePart
from app.services.access import shares
from app.services.entities import batteries
from app.web.forms.form_reader import posted, texts
from app.web.forms.network_form import OpenFor
from app.web.forms.share_form import DEFAULTS, Lasting, read_share, read_wish
from app.web.lazy_routes import LazyRouter
from app.web.network.opening import look_at_network, open_nearby
from app.web.open_pages.shared_page import figures_of
from app.web.rendering.reachability import (
    Nearby,
    address_for_others,
    listens_alone,
    nearby,
    opened_to_others,
)
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of, today_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
CODE_BORDER, CODE_SCALE = 4, 5


@dataclass(frozen=True)
class SharePage:
    """What share.html needs: the choice, the shared page as it would be, and the network."""

    battery: Battery
    others: tuple[Battery, ...]
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    view: SharedView | None
    figures: tuple[Chart | None, ...]
    near: Nearby
    open_until: datetime
    parts: tuple[SharePart, ...] = tuple(SharePart)
    lasting: tuple[Lasting, ...] = tuple(Lasting)


@dataclass(frozen=True)
class LinkPage:
    """What link.html needs."""

    share: Share
    battery: Battery
    beside: tuple[Battery, ...]
    address: str
    is_open: bool
    now: datetime
    listens_alone: bool
    near: Nearby
    reached_by: OpenNetwork | None
    parts: tuple[SharePart, ...] = tuple(SharePart)


@router.get("/batteries/{battery_id}/share", name="choose_share")
def choose_share(request: Request, battery_id: Id) -> Response:
    """Choose what a link shows, with the shared page as a stranger would see it."""
    asked = dict(request.query_params)
    return _share_page(request, battery_id, asked if "chosen" in asked else DEFAULTS | asked, ())


@router.post("/batteries/{battery_id}/shares", name="share_battery")
def share_battery(
    request: Request, battery_id: Id, form: Annotated[FormData, Depends(posted)]
) -> Response:
    values, now = texts(form), now_of(request)
    try:
        given = read_share(values, now)
        share = shares.share_battery(
            store_of(request), battery_id, given.label, given.expires_at, now, given.wish
        )
    except FadelineError as error:
        return _share_page(request, battery_id, values, problems_of(error))
    if values.get("on_network"):
        # The link is made; where it cannot be opened its page says so, and offers it again.
        with suppress(FadelineError):
            open_nearby(request, {})
    return see_other(request, "link", share_id=share.id)


@router.get("/shares/{share_id}", name="link")
def show_link(request: Request, share_id: Id) -> Response:
    """A link for its owner: its address, as a code to scan, too, and who looked."""
    # An address may have gone since it was looked at last: the code is true when it is shown.
    look_at_network(request)
    store, now = store_of(request), now_of(request)
    share = shares.get_share(store, share_id)
    known = {battery.id: battery for battery in batteries.kept_batteries(store)}
    context = LinkPage(
        share=share,
        battery=batteries.get_battery(store, share.battery_id),
        beside=tuple(known[other] for other in share.beside if other in known),
        address=address_for_others(request, "shared", token=share.token),
        is_open=share.open_at(now),
        now=now,
        listens_alone=listens_alone(request),
        near=nearby(request),
        reached_by=opened_to_others(request),
    )
    return page(request, "link.html", context)


@router.get("/shares/{share_id}/code.svg", name="link_code")
def link_code(request: Request, share_id: Id) -> Response:
    """The address as a code to scan (ISO/IEC 18004)."""
    share = shares.get_share(store_of(request), share_id)
    address = address_for_others(request, "shared", token=share.token)
    drawn = io.BytesIO()
    import segno  # here, because few starts need it

    segno.make_qr(address, error="m").save(
        drawn, kind="svg", border=CODE_BORDER, scale=CODE_SCALE, light="#ffffff", xmldecl=False
    )
    return Response(drawn.getvalue(), media_type="image/svg+xml")


@router.post("/shares/{share_id}/revoke", name="revoke_share")
def revoke_share(request: Request, share_id: Id) -> Response:
    shares.revoke_share(store_of(request), share_id, now_of(request))
    look_at_network(request)
    return see_other(request, "link", share_id=share_id)


def _share_page(
    request: Request, battery_id: int, values: Mapping[str, str], problems: tuple[FieldError, ...]
) -> Response:
    store = store_of(request)
    battery = batteries.get_battery(store, battery_id)
    view = None
    try:
        view = shares.preview_share(store, battery_id, read_wish(values), today_of(request))
    except FadelineError as error:
        problems = tuple(dict.fromkeys((*problems, *problems_of(error))))
    context = SharePage(
        battery=battery,
        others=tuple(one for one in batteries.kept_batteries(store) if one.id != battery_id),
        values=values,
        problems=problems,
        view=view,
        figures=() if view is None else figures_of(view),
        near=nearby(request),
        open_until=OpenFor.DAY.until(now_of(request)),
    )
    return page(request, "share.html", context, 422 if problems else 200)
