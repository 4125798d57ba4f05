"""The application on the network: shared links with what they need, and nothing of the owner's.

It is made of its own routes, so an owner's page is not closed here: it does not exist. The store is
that of the main application.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache, partial
from typing import Any

from fastapi import Depends, FastAPI

from app.server.network_listener import NetworkListener
from app.server.own_addresses import own_addresses
from app.services.access import joining, shares
from app.services.store import Store
from app.settings import STATIC
from app.web.answers.error import ERRORS
from app.web.forms.csrf import form_is_ours
from app.web.joined import arrival, phone_guard, run_pages
from app.web.lazy_routes import LazyRouter
from app.web.open_pages import open_help, shared_data, shared_page
from app.web.page_turns import PageTurns
from app.web.rendering import assets, error_pages
from app.web.rendering.locale import LocaleMiddleware
from app.web.rendering.rendering import moment_of
from app.web.security.middleware import SecurityMiddleware
from app.web.security.network_door import NetworkDoor

# What everybody on the network may open: a shared page, and the help that it leads to.
PAGES = (shared_page, open_help)


@dataclass(frozen=True)
class GuardedRoutes:
    """Routes that a guard of their own keeps: a dependency that lets in whoever may ask them."""

    router: LazyRouter
    guard: Callable[..., Any]


# Whoever adds to it says with its guard who may ask.
GUARDED: tuple[GuardedRoutes, ...] = (
    GuardedRoutes(arrival.router, arrival.with_open_code),
    GuardedRoutes(run_pages.router, phone_guard.phone_in_test),
)
# The pages of phones ask every 15 s: each hears that its test is over before this closes.
LINGERS = timedelta(minutes=1)


def create_network_application(
    main: FastAPI, guarded: Sequence[GuardedRoutes] = GUARDED
) -> FastAPI:
    """The application on the network beside the main one, whose records it shows."""
    app = FastAPI(
        title=main.title,
        version=main.version,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        redirect_slashes=False,
        telemetry={"auto_configure": False},
    )
    routes = app.router.routes
    routes += assets.router.behind()
    app.mount("/static", assets.VersionedFiles(directory=STATIC), name="static")
    for part in PAGES:
        routes += part.router.behind()
    routes += shared_data.router.behind(responses=ERRORS)
    for kept in guarded:
        routes += kept.router.behind(Depends(kept.guard), Depends(form_is_ours))
    app.state.settings = main.state.settings
    app.state.store = main.state.store
    # Tests set the clock of the main application.
    app.state.clock = partial(moment_of, main)
    app.state.path_of = lru_cache(maxsize=20_000)(app.url_path_for)
    # No page here has a way to the owner's.
    app.state.has_owner_pages = False
    error_pages.install(app)
    phone_guard.install(app)
    app.add_middleware(PageTurns)
    app.add_middleware(SecurityMiddleware, door=NetworkDoor())
    app.add_middleware(LocaleMiddleware)
    return app


def listener_for(main: FastAPI) -> NetworkListener:
    """What opens the application on the network; closed, as a Fadeline starts."""
    needs = Needs(main.state.store)
    return NetworkListener(
        create_network_application(main),
        main.state.settings.port + 1,
        now=partial(moment_of, main),
        is_needed=needs.are_there,
        stays_open=needs.were_of_phones,
        has_phones=needs.are_of_phones,
        addresses=own_addresses,
    )


def owners_listener_for(main: FastAPI) -> NetworkListener:
    """What opens the owner's pages themselves on the network, to whoever signs in: the door of the
    main application asks there what it asks with --host."""
    return NetworkListener(
        main,
        main.state.settings.port,
        now=partial(moment_of, main),
        is_needed=lambda _now: True,
        addresses=own_addresses,
    )


def close_listeners(main: FastAPI) -> None:
    """Close whatever is open on the network."""
    for name in ("network", "owners_network"):
        listener: NetworkListener | None = getattr(main.state, name, None)
        if listener is not None:
            listener.close()


class Needs:
    """Whether anything is there that others may open; what is open closes with the last of it."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._joined_at: datetime | None = None

    def are_there(self, now: datetime) -> bool:
        return self.were_of_phones(now) or shares.any_open(self._store, now)

    def are_of_phones(self, now: datetime) -> bool:
        """Whether a phone is in a running test or may join one."""
        return joining.waits_for_phones(self._store, now)

    def were_of_phones(self, now: datetime) -> bool:
        """The same, also where it was so a moment ago."""
        if self.are_of_phones(now):
            self._joined_at = now
        return self._joined_at is not None and now - self._joined_at < LINGERS
