"""Wiring: settings in, application out. No logic of its own."""

from functools import cache, lru_cache

from fastapi import Depends, FastAPI
from starlette.routing import BaseRoute, Mount

from app.server.network_application import listener_for, owners_listener_for
from app.server.store_context import open_records
from app.settings import STATIC, Settings
from app.web.answers.error import ERRORS
from app.web.api import health, json_reports, run_feed
from app.web.downloads import battery_file, received_file, records, records_export, table_files
from app.web.forms.csrf import form_is_ours
from app.web.incoming import past_tests, temperature_files
from app.web.joined import invitation
from app.web.network import opening
from app.web.open_pages import open_help, shared_data, shared_page
from app.web.page_turns import PageTurns
from app.web.pages import (
    batteries,
    battery_list,
    bin,
    comparison,
    discharges,
    events,
    example,
    heat,
    help,
    history,
    meters,
    nights,
    photos,
    places,
    plans,
    preferences,
    removal,
    reports,
    run_questions,
    runs,
    shares,
    sign_in,
)
from app.web.rendering import assets, error_pages, theme
from app.web.rendering.locale import LocaleMiddleware, for_owner, for_owner_or_device
from app.web.rendering.rendering import EXAMPLE
from app.web.security.login_throttle import LoginThrottle
from app.web.security.middleware import SecurityMiddleware
from app.web.security.owners_door import OwnersDoor
from app.web.security.posted_pages import PostedPages

PAGES = (
    battery_list,
    batteries,
    comparison,
    heat,
    nights,
    events,
    discharges,
    past_tests,
    photos,
    plans,
    runs,
    run_questions,
    invitation,
    meters,
    places,
    temperature_files,
    shared_page,
    shares,
    battery_file,
    received_file,
    help,
    open_help,
    reports,
    preferences,
    opening,
    records,
    records_export,
    table_files,
    history,
    theme,
    bin,
    removal,
)
# What also goes to others looks the same to everybody, whatever the owner prefers.
READ_BY_OTHERS = (shared_page, battery_file, reports)
# What strangers open as well, each in a language of their own.
READ_BY_ALL = (open_help,)


def create_app(settings: Settings) -> FastAPI:
    """Open the data and build the application with its gate. Raises StorageError."""
    app = build(settings)
    app.state.example = example.Example(settings, build)
    app.state.attempts = LoginThrottle()
    app.state.network = listener_for(app)
    if not settings.demo:
        # What is invented has no owner who could sign in.
        app.state.owners_network = owners_listener_for(app)
        app.router.routes += sign_in.router.behind()
    app.router.routes += health.router.behind()
    # The way in and out first: what is mounted takes every address below its prefix.
    app.router.routes += example.router.behind(Depends(form_is_ours))
    app.mount(EXAMPLE, app.state.example)
    app.add_middleware(PageTurns)
    app.add_middleware(SecurityMiddleware, door=OwnersDoor(settings), https=settings.https)
    app.add_middleware(LocaleMiddleware)
    return app


def build(settings: Settings) -> FastAPI:
    """A Fadeline without the gate, which stands before it or before what it is mounted in."""
    app = FastAPI(
        title="Fadeline",
        version="0.1.0",
        # The framework's own documentation pages load scripts from elsewhere.
        docs_url=None,
        redoc_url=None,
        # It would send the browser to whatever host the request named.
        redirect_slashes=False,
        telemetry={"auto_configure": False},
        routes=list(_answers()),
    )
    app.state.settings = settings
    # The same addresses are made over and over, and each time all routes would be gone through.
    app.state.path_of = lru_cache(maxsize=20_000)(app.url_path_for)
    app.state.store = open_records(settings)
    error_pages.install(app)
    app.add_middleware(PostedPages)
    return app


@cache
def _answers() -> tuple[BaseRoute, ...]:
    """What every Fadeline of the process answers to; whose records those are is the application's.

    A route that one of them made ready is ready in all.
    """
    routes: list[BaseRoute] = [*assets.router.behind()]
    routes.append(Mount("/static", assets.VersionedFiles(directory=STATIC), name="static"))
    for part in PAGES:
        needs = [Depends(form_is_ours)]
        if part not in READ_BY_OTHERS:
            needs.append(Depends(for_owner_or_device if part in READ_BY_ALL else for_owner))
        routes += part.router.behind(*needs)
    for answers in (json_reports.router, shared_data.router, run_feed.router, heat.api):
        routes += answers.behind(responses=ERRORS)
    return tuple(routes)
