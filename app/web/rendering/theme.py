"""The look of the owner's pages: the device's own, or one that was chosen in this browser."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from fastapi import Depends, Request
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.web.forms.form_reader import posted, safe_redirect_path, texts
from app.web.lazy_routes import LazyRouter
from app.web.request import OWNER, SECRET, has_owner_pages, path_of, query_of

router = LazyRouter(include_in_schema=False)
COOKIE = "look"
_A_YEAR_S = 365 * 24 * 3600
# What a stranger may see looks the same to the owner: nothing is read from a browser there.
_SHARED = "/shared/"


class Theme(StrEnum):
    """What can be chosen; AUTO follows the device."""

    AUTO = "auto"
    LIGHT = "light"
    DARK = "dark"
    SUNLIGHT = "sunlight"

    @property
    def label(self) -> str:
        return {
            "auto": say("As the device"),
            "light": say("Light"),
            "dark": say("Dark"),
            "sunlight": say("Sunlight"),
        }[self.value]


@dataclass(frozen=True)
class PageChrome:
    """What base.html needs of the look. owner says that the page is not one for strangers;
    signed_in that its reader got in by a passphrase; back is empty where it cannot be asked for
    again; at_home that the owner's pages are on this server, for whoever gets in."""

    look: Theme
    owner: bool
    back: str
    signed_in: bool
    at_home: bool = True
    looks: tuple[Theme, ...] = tuple(Theme)


# The colour of the browser's own bar: that of the page (--paper in static/tokens.css).
BAR_COLORS = {Theme.LIGHT: "#fbf8f1", Theme.DARK: "#12191d", Theme.SUNLIGHT: "#ffffff"}


def page_chrome_of(request: Request) -> PageChrome:
    """The look of a page, and where its switch leads back to."""
    path = path_of(request)
    if path.startswith(_SHARED) or not request.scope.get(OWNER):
        return PageChrome(Theme.AUTO, False, "", False, has_owner_pages(request))
    signed_in = bool(request.scope.get(SECRET))
    chosen = request.cookies.get(COOKIE, "")
    look = Theme(chosen) if chosen in set(Theme) else Theme.AUTO
    if request.method != "GET":
        return PageChrome(look, True, "", signed_in)
    # What was done is said once; coming back does not say it again.
    kept = [part for part in query_of(request).split("&") if not part.startswith("done=")]
    query = "&".join(kept)
    return PageChrome(look, True, f"{path}?{query}" if query else path, signed_in)


@router.post("/look", name="choose_look")
def choose_look(request: Request, form: Annotated[FormData, Depends(posted)]) -> Response:
    """Keep the choice in this browser, and go back to the page it was made on."""
    values = texts(form)
    chosen, back = values.get("look", ""), values.get("back", "/")
    if chosen not in set(Theme):
        raise InvalidInput.because(say("look"), chosen, ", ".join(Theme))
    response = RedirectResponse(safe_redirect_path(back), status_code=303)
    response.set_cookie(
        COOKIE,
        chosen,
        # None at all is kept of what is the device's own choice.
        max_age=0 if chosen == Theme.AUTO else _A_YEAR_S,
        path="/",
        httponly=True,
        samesite="lax",
        secure=request.app.state.settings.https,
    )
    return response
