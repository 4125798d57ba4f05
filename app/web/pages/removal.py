"""The page that asks before something in the bin is removed for good."""

from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.errors import FieldError, StaleEdit, problems_of
from app.services.entities import purge
from app.web.forms.form_reader import Posted, texts
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import Id, page, see_other, store_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)


@dataclass(frozen=True)
class RemovalPage:
    """What removal.html needs."""

    removal: purge.Removal
    problems: tuple[FieldError, ...]


@router.get("/bin/{kind}/{item_id}/remove", name="ask_removal")
def ask_removal(request: Request, kind: str, item_id: Id) -> Response:
    return _page(request, kind, item_id)


@router.post("/bin/{kind}/{item_id}/remove", name="remove_for_good")
def remove_for_good(request: Request, kind: str, item_id: Id, form: Posted) -> Response:
    try:
        purge.remove_for_good(store_of(request), kind, item_id, texts(form).get("seen", "none"))
    except StaleEdit as error:
        return _page(request, kind, item_id, problems_of(error), 409)
    return see_other(request, "bin")


def _page(
    request: Request,
    kind: str,
    item_id: int,
    problems: tuple[FieldError, ...] = (),
    status: int = 200,
) -> Response:
    context = RemovalPage(purge.what_goes(store_of(request), kind, item_id), problems)
    return page(request, "removal.html", context, status)
