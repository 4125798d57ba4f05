"""Pages of past versions: what every edit replaced, and the way back to it."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Query, Request
from fastapi.responses import HTMLResponse
from pydantic import AfterValidator
from starlette.responses import Response

from app.domain.entity_kind import EDITED, EntityKind
from app.domain.errors import FieldError, InvalidInput, StaleEdit, problems_of
from app.services.entities import history
from app.web.forms.form_reader import Posted, texts
from app.web.lazy_routes import LazyRouter
from app.web.rendering.flash_message import edited, home_of, notice_of
from app.web.rendering.rendering import Id, now_of, page, path_to, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


def _with_history(thing: EntityKind) -> EntityKind:
    """The other kinds have no earlier versions, so their addresses lead nowhere."""
    if thing not in EDITED:
        raise ValueError
    return thing


EditedThing = Annotated[EntityKind, AfterValidator(_with_history)]
Version = Annotated[int | None, Query(ge=1, le=2**63 - 1)]


@dataclass(frozen=True)
class HistoryPage:
    """What history.html needs. home is the address of the page on which the thing stands."""

    history: history.VersionHistory
    home: str
    problems: tuple[FieldError, ...]


@router.get("/history/{thing}/{item_id}", name="history")
def show_history(
    request: Request, thing: EditedThing, item_id: Id, up_to: Version = None
) -> Response:
    return _page(request, thing, item_id, up_to)


@router.post("/history/{thing}/{item_id}/{number}", name="bring_back")
def bring_back(
    request: Request, thing: EditedThing, item_id: Id, number: Id, form: Posted
) -> Response:
    """Make a past version the one in use, and go to the page where the owner was."""
    values = texts(form)
    try:
        back = history.bring_back(
            store_of(request), thing, item_id, number, _version(values), now_of(request)
        )
    except (StaleEdit, InvalidInput) as error:
        status = 409 if isinstance(error, StaleEdit) else 422
        return _page(request, thing, item_id, None, problems_of(error), status)
    done = edited(thing, item_id, back.version - 1)
    if values.get("to") == "history":
        return see_other(request, "history", done=done, thing=thing.value, item_id=item_id)
    home = home_of(back)
    return see_other(request, home.name, done=done, **home.path)


def _version(values: dict[str, str]) -> int:
    """The version that the asking page showed; 0, which is none, where it says nothing sensible."""
    text = values.get("seen", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else 0


def _page(
    request: Request,
    thing: EntityKind,
    item_id: int,
    up_to: int | None,
    problems: tuple[FieldError, ...] = (),
    status: int = 200,
) -> Response:
    shown = history.show_history(store_of(request), thing, item_id, up_to)
    home = home_of(shown.current)
    address = path_to(request, home.name, **home.path)
    context = HistoryPage(shown, address, problems)
    return page(request, "history.html", context, status, notice_of(request))
