"""The owner's side: a code that lets a phone join a running test, and the end of its session."""

from datetime import datetime

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.errors import FadelineError, problems_of
from app.domain.i18n.message import say
from app.domain.network import OpenNetwork
from app.services.access import joining
from app.web.forms.network_form import NO_ADDRESS, OpenFor
from app.web.lazy_routes import LazyRouter
from app.web.pages.runs import run_page
from app.web.rendering.joining_view import code_to_scan
from app.web.rendering.open_doors import network_of
from app.web.rendering.rendering import Id, now_of, see_other, settings_of, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@router.post("/runs/{run_id}/phones", name="let_phone_join")
def let_phone_join(request: Request, run_id: Id) -> Response:
    """Show a code, once, and open the network where it is closed."""
    store, now = store_of(request), now_of(request)
    try:
        # First: what is opened for nothing would stay open.
        shown = joining.make_code(store, run_id, now)
        opened = _opened(request, now)
    except FadelineError as error:
        return run_page(request, run_id, {}, problems_of(error))
    return run_page(request, run_id, {}, (), code=code_to_scan(opened.base, run_id, shown))


@router.post("/runs/{run_id}/phones/end", name="end_phones")
def end_phones(request: Request, run_id: Id) -> Response:
    """End the sessions of all phones in this test."""
    joining.end_phones(store_of(request), run_id, now_of(request))
    return see_other(request, "run", run_id=run_id)


def _opened(request: Request, now: datetime) -> OpenNetwork:
    """The network as it is open, or opened at its likely address. Raises FadelineError."""
    network, settings = network_of(request.app), settings_of(request)
    if network is None or settings.example or settings.public_address:
        raise FadelineError(
            say(
                "No phone can join here: this is the example, or a Fadeline with a public address, "
                "where a phone signs in."
            )
        )
    if network.opened is not None and network.opened.there:
        return network.opened
    addresses = network.addresses()
    if not addresses:
        raise FadelineError(say(NO_ADDRESS))
    return network.open(addresses[0].address, OpenFor.DAY.until(now))
