"""The example: the invented scenario beside somebody's own records, below a prefix of its own.

It is a second Fadeline with a store of its own in a temporary folder. Nothing that is done in it
can reach the owner's data file, because it does not know that file. It lies below the prefix, so
the gate closes it to other devices like every page of the owner.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from threading import Lock

from fastapi import FastAPI, Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.services.backups.temporary_folder import EXAMPLE as EXAMPLE_FOLDER
from app.services.backups.temporary_folder import TemporaryFolder
from app.services.example.demo import fill_with_demo
from app.settings import Settings
from app.web.lazy_routes import LazyRouter
from app.web.rendering.error_pages import plain_page
from app.web.rendering.rendering import EXAMPLE, LEAVE_EXAMPLE, see_other, today_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
_CLOSED = N_("The example is closed. The page “Help” opens it again.")


@dataclass(frozen=True)
class _Opened:
    application: FastAPI
    folder: TemporaryFolder


class Example:
    """What answers below the prefix: nothing, or the invented Fadeline while it is open."""

    def __init__(self, settings: Settings, build: Callable[[Settings], FastAPI]) -> None:
        self._settings = settings
        self._build = build
        self._changing = Lock()
        self._opened: _Opened | None = None

    @property
    def is_open(self) -> bool:
        return self._opened is not None

    def open(self, owner: FastAPI, today: date) -> None:
        """Make it where it is not open yet; one that is open stays as it is."""
        with self._changing:
            if self._opened is None:
                self._opened = self._make(owner, today)

    def close(self) -> None:
        """Throw it away with its folder."""
        with self._changing:
            opened, self._opened = self._opened, None
            if opened is not None:
                opened.application.state.store.engine.dispose()
                opened.folder.throw_away()

    def _make(self, owner: FastAPI, today: date) -> _Opened:
        folder = TemporaryFolder(EXAMPLE_FOLDER)
        settings = replace(
            self._settings,
            data_dir=folder.path,
            database_url="",
            demo=True,
            example=True,
            # No other device reaches it, whatever the owner's own pages listen to.
            host="127.0.0.1",
        )
        made = self._build(settings)
        # The same clock, which tests set.
        made.state.clock = getattr(owner.state, "clock", None)
        # Every page says what is open on the network; nothing of the example is open there.
        made.state.network = owner.state.network
        made.state.owners_network = getattr(owner.state, "owners_network", None)
        fill_with_demo(made.state.store, today)
        return _Opened(made, folder)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        opened = self._opened
        if opened is not None:
            await opened.application(scope, receive, send)
            return
        # The page that says so belongs to the owner's Fadeline, and so do its links.
        scope = {**scope, "root_path": scope.get("app_root_path", "")}
        await plain_page(Request(scope), 404, say("Nothing here"), say(_CLOSED))(
            scope, receive, send
        )


@router.post(EXAMPLE, name="open_example")
def open_example(request: Request) -> Response:
    request.app.state.example.open(request.app, today_of(request))
    return Response(status_code=303, headers={"Location": f"{EXAMPLE}/"})


@router.post(LEAVE_EXAMPLE, name="leave_example")
def leave_example(request: Request) -> Response:
    request.app.state.example.close()
    return see_other(request, "batteries")
