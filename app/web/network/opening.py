"""Opening shared links on the network, or the owner's pages, and closing them there."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import RedirectResponse, Response

from app.domain.errors import FadelineError, FieldError, problems_of
from app.domain.i18n.message import say
from app.services.access import auth, shares
from app.services.access.shares import NamedShare
from app.web.forms.form_reader import FormReader, Posted, safe_redirect_path, texts
from app.web.forms.network_form import lasting_choices, read_opening
from app.web.lazy_routes import LazyRouter
from app.web.rendering.error_pages import ErrorPage
from app.web.rendering.open_doors import DoorKind, network_of
from app.web.rendering.reachability import Nearby, may_open, nearby
from app.web.rendering.rendering import now_of, page, path_to, store_of
from app.web.request import host_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class NetworkPage:
    """What network.html needs."""

    near: Nearby
    values: Mapping[str, str]
    problems: tuple[FieldError, ...]
    open_for: tuple[tuple[str, str], ...]
    links: tuple[NamedShare, ...]


@router.get("/network", name="network")
def show_network(request: Request) -> Response:
    """The switch: what is open on the network, and until when."""
    return page(request, "network.html", _network_page(request, {}))


@router.post("/network/open", name="open_network")
def open_network(request: Request, form: Posted) -> Response:
    values = texts(form)
    try:
        open_nearby(request, values)
    except FadelineError as error:
        context = _network_page(request, values, problems_of(error))
        return page(request, "network.html", context, 422)
    return _back(request, values)


@router.post("/network/open-to-owner", name="open_to_owner")
def open_to_owner(request: Request, form: Posted) -> Response:
    """Open the owner's pages to the owner's other devices, which sign in."""
    values = texts(form)
    if not auth.has_passphrase(store_of(request)):
        raise FadelineError(say("Set a passphrase first: without one nobody could sign in."))
    open_nearby(request, values, DoorKind.OWNER)
    return _back(request, values)


@router.post("/network/close", name="close_network")
def close_network(request: Request, form: Posted) -> Response:
    """Close one of the doors; the form says which."""
    values = texts(form)
    reader = FormReader(values)
    network = network_of(request.app, reader.choice("door", say("door"), DoorKind))
    reader.finish()
    opened = None if network is None else network.opened
    if network is not None:
        network.close()
    if opened is not None and urlsplit(opened.base).netloc == host_of(request.scope):
        # Whoever closes the door behind himself finds no page to go back to.
        words = say("Your pages are closed on this network. They open on the machine as before.")
        return page(request, "error.html", ErrorPage(say("Closed"), (words,), stranger=True))
    return _back(request, values)


@router.post("/network/revoke-links", name="revoke_all_links")
def revoke_all_links(request: Request) -> Response:
    """Close every link for good, wherever it was sent."""
    shares.revoke_all_shares(store_of(request), now_of(request))
    return RedirectResponse(path_to(request, "network"), status_code=303)


def open_nearby(
    request: Request, values: Mapping[str, str], kind: DoorKind = DoorKind.SHARED
) -> None:
    """Open a door as the form says. Raises FadelineError."""
    network = network_of(request.app, kind)
    if network is None or not may_open(request):
        raise FadelineError(
            say(
                "There is nothing to open here: this Fadeline is reached by other devices already, "
                "or shows the example."
            )
        )
    given = read_opening(values, network.addresses(), now_of(request))
    network.open(given.address, given.until)


def look_at_network(request: Request) -> None:
    """See at once what is over, or which address is gone, and not a few seconds later."""
    network = network_of(request.app)
    if network is not None:
        network.look()


def _network_page(
    request: Request, values: Mapping[str, str], problems: tuple[FieldError, ...] = ()
) -> NetworkPage:
    now = now_of(request)
    links = shares.open_shares(store_of(request), now)
    return NetworkPage(nearby(request), values, problems, lasting_choices(now), links)


def _back(request: Request, values: Mapping[str, str]) -> Response:
    back = values.get("back", "") or path_to(request, "network")
    return RedirectResponse(safe_redirect_path(back), status_code=303)
