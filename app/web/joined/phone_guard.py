"""Who may ask for a run on the network: the phones that joined this very run."""

from collections.abc import AsyncIterator, Mapping
from dataclasses import dataclass, replace
from functools import cache

from fastapi import FastAPI, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from app.domain.errors import FadelineError
from app.domain.i18n.preferences import Preferences
from app.domain.joining import PHONE_LASTS, PhoneStanding
from app.services.access import joining
from app.services.access.preferences import preferences_of
from app.web.forms.csrf import FIELD, forms_of
from app.web.forms.form_reader import read_form, texts
from app.web.joined.typed_words import typed_words
from app.web.rendering.locale import asked_language
from app.web.rendering.rendering import Id, now_of, page, path_to, store_of
from app.web.request import SECRET, read_with

COOKIE = "joined"
# Of whoever is not let in no more is read than the form of a reading.
MAX_READ_BYTES = 20_000


class NotInTest(FadelineError):
    """This phone is not (any more) in the test. typed is what it sent and nobody stored."""

    def __init__(self, standing: PhoneStanding, typed: Mapping[str, str]) -> None:
        super().__init__("This phone is not in the test.")
        self.standing = standing
        self.typed = typed


@dataclass(frozen=True)
class NotInTestPage:
    """What not_in_test.html needs. typed are the words for what was sent."""

    over: bool
    typed: tuple[tuple[str, str], ...]


async def phone_in_test(request: Request, run_id: Id) -> AsyncIterator[None]:
    """Dependency of a run's pages on the network. Raises NotInTest.

    It is asynchronous so that the page sees what it sets.
    """
    secret = held_by(request)
    # What the page asks for by itself does not keep its session fresh.
    uses = not request.scope["path"].endswith("/state")
    store, now = store_of(request), now_of(request)
    standing = await run_in_threadpool(joining.find_phone, store, run_id, secret, now, uses=uses)
    if standing is not PhoneStanding.JOINED:
        raise NotInTest(standing, await _sent(request))
    request.scope[SECRET] = secret
    asked = asked_language(request)

    def chosen() -> Preferences:
        # Numbers as the owner's; the words are for whoever holds the phone.
        return replace(preferences_of(store), language=asked)

    read_with(request.scope, cache(chosen))
    with forms_of(secret):
        yield


def install(app: FastAPI) -> None:
    """Register what a phone is told that is not in the test."""

    @app.exception_handler(NotInTest)
    def _refused(request: Request, refused: NotInTest) -> Response:
        over = refused.standing is PhoneStanding.OVER
        context = NotInTestPage(over, typed_words(refused.typed))
        return page(request, "not_in_test.html", context, 403)


def held_by(request: Request) -> str:
    """The secret that this phone sent; empty where it has none."""
    return request.cookies.get(COOKIE, "")


def hand_over(request: Request, response: Response, run_id: int, secret: str) -> Response:
    """Give the phone its secret for this run; take it away with an empty one."""
    response.set_cookie(
        COOKIE,
        secret,
        max_age=int(PHONE_LASTS.total_seconds()) if secret else 0,
        path=path_to(request, "run", run_id=run_id),
        httponly=True,
        samesite="lax",
    )
    return response


async def _sent(request: Request) -> dict[str, str]:
    length = request.headers.get("content-length", "")
    if request.method != "POST" or not length.isdecimal() or int(length) > MAX_READ_BYTES:
        return {}
    form = await read_form(request)
    try:
        return {name: text for name, text in texts(form).items() if name != FIELD}
    finally:
        await form.close()
