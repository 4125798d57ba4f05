"""The one place where an error becomes a status and a page (or JSON below /api/)."""

from dataclasses import dataclass
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from app.domain.errors import (
    Busy,
    FadelineError,
    InvalidInput,
    LinkClosed,
    NotFound,
    StaleEdit,
    StorageError,
    truncate,
)
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.web.answers.error import ErrorAnswer
from app.web.rendering.page_of_form import page_of_form
from app.web.rendering.rendering import page, path_within
from app.web.request import OWNER, has_owner_pages

LINK_CLOSED = N_(
    "This link does not work. It may be mistyped, expired or revoked; ask for a new one."
)

_NO_PAGE = N_("There is no such page. Check the address, or start from the list of batteries.")
_OWN_FORM = N_("This address only accepts its own form.")


@dataclass(frozen=True)
class ErrorPage:
    """What error.html needs. stranger says that the way to the owner's pages is left out; sign_in
    that the way to the sign-in is shown; lost that the ways to what was looked for are shown."""

    title: str
    sentences: tuple[str, ...]
    stranger: bool
    sign_in: bool = False
    lost: bool = False


def plain_page(request: Request, status: int, title: str, *sentences: str) -> Response:
    """An error as a page, or as JSON below /api/."""
    if path_within(request).startswith("/api/"):
        answer = ErrorAnswer(error=title, details=sentences)
        return JSONResponse(answer.model_dump(mode="json"), status_code=status)
    # A stranger's page leads nowhere: the owner's pages are closed to him.
    stranger = status == 403 or _is_strangers(request)
    shown = ErrorPage(title, sentences, stranger, lost=status in (404, 405))
    return page(request, "error.html", shown, status)


def _is_strangers(request: Request) -> bool:
    return path_within(request).startswith("/shared/") or not has_owner_pages(request)


def _no_page(request: Request) -> Response:
    said = N_("There is no such page. Check the address.") if _is_strangers(request) else _NO_PAGE
    return plain_page(request, 404, say("Nothing here"), say(said))


def records_trouble(request: Request, error: StorageError) -> Response:
    """While the records cannot be reached; a form that was sent to them can be sent once more.

    The answer stays at the address of the form, so that reloading it sends what was typed again.
    What to do about it is for the owner; the log says it, too.
    """
    owner = request.scope.get(OWNER, False)
    said = [error.words if owner else say("Try again in some minutes.")]
    if request.method == "POST" and not path_within(request).startswith("/api/"):
        said.append(
            say(
                "Do not go back, or what you typed is gone. Once this is mended, reload this page "
                "and let the browser send the form again."
            )
        )
    return plain_page(request, 503, say("The records cannot be read or stored now"), *said)


def _place_and_word(problem: dict[str, Any]) -> str:
    """One complaint of the framework about sent JSON: where, what it got, what it wants."""
    place = ".".join(str(part) for part in problem["loc"][1:])
    got = truncate(str(problem.get("input", "")))
    return f"Please check “{place}”: “{got}” does not fit. {problem['msg']}."


def install(app: FastAPI) -> None:
    """Register the handlers."""

    @app.exception_handler(FadelineError)
    def _known(request: Request, error: FadelineError) -> Response:
        if isinstance(error, InvalidInput):
            sentences = (problem.sentence for problem in error.problems)
            return plain_page(request, 422, say("That was refused"), *sentences)
        if isinstance(error, LinkClosed):
            return plain_page(request, 404, say("Nothing here"), say(LINK_CLOSED))
        if isinstance(error, NotFound):
            return plain_page(request, 404, say("Nothing here"), error.words)
        if isinstance(error, StaleEdit):
            return plain_page(request, 409, say("Nothing was changed"), error.words)
        if isinstance(error, Busy):
            answer = plain_page(request, 503, say("Too much at once"), error.words)
            answer.headers["Retry-After"] = str(error.retry_after_s)
            return answer
        if isinstance(error, StorageError):
            return records_trouble(request, error)
        return plain_page(request, 400, say("That did not work"), error.words)

    @app.exception_handler(RequestValidationError)
    def _invalid(request: Request, error: RequestValidationError) -> Response:
        if request.method == "POST" and path_within(request).startswith("/api/"):
            said = [_place_and_word(one) for one in error.errors()[:20]]
            return plain_page(request, 422, say("That was refused"), *said)
        # Elsewhere only addresses are validated by the framework: /batteries/x is no battery.
        return _no_page(request)

    @app.exception_handler(HTTPException)
    def _http(request: Request, error: HTTPException) -> Response:
        if error.status_code == 405 and (way := page_of_form(request)) is not None:
            return way
        if error.status_code == 404:
            return _no_page(request)
        words = say(_OWN_FORM) if error.status_code == 405 else str(error.detail)
        return plain_page(request, error.status_code, say("That did not work"), words)
