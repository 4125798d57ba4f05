"""What a messenger shows beside a shared link: its picture, and the addresses that it asks for.

The picture has the address of the page with ?chart=card.png, as the charts of a page have theirs,
so it opens for exactly those for whom the page does. A messenger sees it only where it reaches the
address: of a link on a network of one's own it shows the words or nothing.
"""

from fastapi import Request
from starlette.responses import Response

from app.analysis.reports.shared_report import SharedView
from app.web.rendering.chart_files import FIELD
from app.web.rendering.rendering import path_to, settings_of
from app.web.request import host_of, reader_of

_NAME = "card.png"


def asks_for_card(request: Request) -> bool:
    return request.query_params.get(FIELD) == _NAME


def card_file(request: Request, view: SharedView) -> Response:
    """The picture of what a link shows: a test, a battery, or several."""
    # Here, because few starts need what draws pictures.
    from app.charts.small.card import battery_card, card_png, several_card, test_card

    first, *beside = view.batteries
    if view.test is not None:
        card = test_card(view.test, first)
    else:
        card = several_card(view.batteries) if beside else battery_card(first)
    made = card_png(card, reader_of(request), demo=settings_of(request).demo)
    return Response(made, media_type="image/png")


def whole_address(request: Request, name: str, **path: str) -> str:
    """A page's address with the host by which it was asked for, or the public one."""
    public = settings_of(request).public_address
    start = public or f"{request.scope['scheme']}://{host_of(request.scope)}"
    return start + path_to(request, name, **path)


def card_address(address: str) -> str:
    return f"{address}?{FIELD}={_NAME}"
