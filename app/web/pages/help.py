"""The owner's help: its contents, and what own scripts need."""

from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.web.lazy_routes import LazyRouter
from app.web.rendering.feed_access import FeedAccess, feed_access
from app.web.rendering.interface import Interface, read_interface
from app.web.rendering.reachability import address_for_others
from app.web.rendering.rendering import EXAMPLE, page

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class HelpPage:
    """What help.html needs. example_open says whether the example is open, None where there is
    none: in itself, and in the demo."""

    example_open: bool | None
    open_example: str


@dataclass(frozen=True)
class ScriptsPage:
    """What scripts.html needs. feed stands for any running test, with a word that opens none;
    address is where other devices reach this server, without the slash at its end."""

    interface: Interface
    address: str
    feed: FeedAccess


@router.get("/help", name="help")
def show_help(request: Request) -> Response:
    """The way to all help, and into the example."""
    beside = getattr(request.app.state, "example", None)
    is_open = None if beside is None else beside.is_open
    return page(request, "help.html", HelpPage(is_open, f"{EXAMPLE}/"))


# Strangers get the interface's description no more than the document that it is made of.
@router.get("/help/scripts", name="scripts")
def show_scripts(request: Request) -> Response:
    """From the application's own OpenAPI document, so that the two cannot disagree."""
    context = ScriptsPage(
        interface=read_interface(request.app.openapi()),
        address=address_for_others(request, "batteries").removesuffix("/"),
        feed=feed_access(request, "1", "WORD"),
    )
    return page(request, "scripts.html", context)
