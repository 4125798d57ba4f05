"""Signing in, and the owner's page of who gets in: the passphrase and the open sessions."""

import logging
from dataclasses import dataclass
from datetime import datetime, timedelta

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse
from starlette.responses import RedirectResponse, Response

from app.domain.auth import ABSOLUTE, IDLE, MIN_PASSPHRASE_LENGTH, DeviceSession
from app.domain.errors import FadelineError, FieldError, InvalidInput, problems_of
from app.domain.i18n.message import say
from app.domain.joining import PHONE_LASTS
from app.services.access import auth, joining
from app.services.access.joining import PhoneInTest
from app.web.forms.csrf import form_is_ours
from app.web.forms.form_reader import Posted, safe_redirect_path, texts
from app.web.forms.network_form import lasting_choices
from app.web.lazy_routes import LazyRouter
from app.web.rendering.locale import for_owner
from app.web.rendering.open_doors import DoorKind
from app.web.rendering.reachability import Nearby, nearby
from app.web.rendering.rendering import now_of, page, path_to, see_other, settings_of, store_of
from app.web.security.login_throttle import LoginThrottle
from app.web.security.requester import cookie_name, secret_of, sender_of

router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
# Not of the sign-in: in another tab of a device it may be done already.
OURS = [Depends(form_is_ours), Depends(for_owner)]
log = logging.getLogger("fadeline")


@dataclass(frozen=True)
class SignInPage:
    """What sign_in.html needs. back is the page that was asked for."""

    back: str
    problems: tuple[FieldError, ...]


@dataclass(frozen=True)
class ShownSession:
    """A session in the list; own is that of the device that looks."""

    session: DeviceSession
    own: bool


@dataclass(frozen=True)
class DoorPage:
    """What door.html needs. asks_current says that changing needs the passphrase of now;
    everywhere that there is no way in without it, not even on this machine; phones are those that
    joined a running test; near is the network as it is for the owner's other devices."""

    has_passphrase: bool
    asks_current: bool
    everywhere: bool
    sessions: tuple[ShownSession, ...]
    phones: tuple[PhoneInTest, ...]
    problems: tuple[FieldError, ...]
    now: datetime
    near: Nearby
    open_for: tuple[tuple[str, str], ...]
    shortest: int = MIN_PASSPHRASE_LENGTH
    idle_hours: int = IDLE // timedelta(hours=1)
    absolute_days: int = ABSOLUTE.days
    phone_days: int = PHONE_LASTS.days


@router.get("/sign-in", name="sign_in")
def show_sign_in(request: Request, back: str = "/") -> Response:
    return page(request, "sign_in.html", SignInPage(safe_redirect_path(back), ()))


@router.post("/sign-in", name="take_passphrase")
def take_passphrase(request: Request, form: Posted) -> Response:
    values, now = texts(form), now_of(request)
    back = safe_redirect_path(values.get("back", "/"))
    wait = _refused(request, values.get(auth.FIELD, ""))
    if wait is not None:
        return _after(wait, page(request, "sign_in.html", SignInPage(back, wait.problems)))
    log.info("signed in from %s", sender_of(request))
    made = auth.begin_session(store_of(request), now, _held(request))
    return _with_cookie(request, RedirectResponse(back, status_code=303), made.secret)


@router.post("/sign-out", name="sign_out", dependencies=OURS)
def sign_out(request: Request) -> Response:
    auth.end_session(store_of(request), _held(request), now_of(request))
    response = see_other(request, "sign_in")
    # Photos are the only pages of the owner that a browser may keep.
    response.headers["Clear-Site-Data"] = '"cache"'
    return _with_cookie(request, response, "")


@router.get("/door", name="door", dependencies=[Depends(for_owner)])
def show_door(request: Request) -> Response:
    return _door_page(request, ())


@router.post("/door/passphrase", name="set_passphrase", dependencies=OURS)
def set_passphrase(request: Request, form: Posted) -> Response:
    """Set or change it; every session ends, and this device goes on with a new one."""
    values, now, store = texts(form), now_of(request), store_of(request)
    signed_in = bool(secret_of(request))
    if signed_in:
        wait = _refused(request, values.get("current", ""), "current")
        if wait is not None:
            return _after(wait, _door_page(request, wait.problems))
    try:
        if values.get("again", "") != values.get(auth.FIELD, ""):
            raise InvalidInput.saying(say("Please type the same passphrase twice."), "again")
        auth.set_passphrase(store, values.get(auth.FIELD, ""))
    except FadelineError as error:
        return _door_page(request, problems_of(error))
    log.info("the passphrase was set")
    response = see_other(request, "door")
    if not signed_in:
        return response
    return _with_cookie(request, response, auth.begin_session(store, now).secret)


@router.post("/door/end", name="end_sessions", dependencies=OURS)
def end_sessions(request: Request) -> Response:
    """End all sessions, that of this device, too."""
    auth.end_all_sessions(store_of(request))
    log.info("all sessions were ended")
    if secret_of(request):
        return _with_cookie(request, see_other(request, "sign_in"), "")
    return see_other(request, "door")


@router.post("/door/phones/end", name="end_phone", dependencies=OURS)
def end_phone(request: Request, form: Posted) -> Response:
    """End the session of one phone that joined a running test."""
    joining.end_phone(store_of(request), texts(form).get("phone", ""), now_of(request))
    return see_other(request, "door")


@dataclass(frozen=True)
class _Wait:
    """Why a passphrase was not taken, and how long the next attempt has to wait."""

    problems: tuple[FieldError, ...]
    seconds: int = 0


def _refused(request: Request, passphrase: str, field: str = auth.FIELD) -> _Wait | None:
    """None where it is the owner's. An attempt that comes too soon is not even looked at."""
    attempts: LoginThrottle = request.app.state.attempts
    sender = sender_of(request)
    wait_s = attempts.begin(sender)
    if wait_s > 0:
        log.warning("an attempt to sign in from %s came too soon", sender)
        seconds = max(1, round(wait_s))
        words = say("Too many attempts. Wait {seconds} s, then try again.", seconds=seconds)
        return _Wait((FieldError(words, "", "", field),), seconds)
    if auth.is_passphrase(store_of(request), passphrase):
        attempts.succeeded(sender)
        return None
    log.warning("a wrong passphrase from %s", sender)
    words = say("This passphrase is not the owner's. Type it again; capital letters count.")
    return _Wait((FieldError(words, "", "", field),))


def _after(wait: _Wait, response: Response) -> Response:
    response.status_code = 429 if wait.seconds else 422
    if wait.seconds:
        response.headers["Retry-After"] = str(wait.seconds)
    return response


def _door_page(request: Request, problems: tuple[FieldError, ...]) -> Response:
    store, now, secret = store_of(request), now_of(request), secret_of(request)
    own = auth.find_session(store, secret, now, uses=False) if secret else None
    context = DoorPage(
        has_passphrase=auth.has_passphrase(store),
        asks_current=bool(secret),
        everywhere=bool(settings_of(request).public_address),
        sessions=tuple(ShownSession(one, one == own) for one in auth.list_sessions(store, now)),
        phones=tuple(joining.phones_in_tests(store, now)),
        problems=problems,
        now=now,
        near=nearby(request, DoorKind.OWNER),
        open_for=lasting_choices(now),
    )
    return page(request, "door.html", context, 422 if problems else 200)


def _held(request: Request) -> str:
    return request.cookies.get(cookie_name(settings_of(request)), "")


def _with_cookie(request: Request, response: Response, secret: str) -> Response:
    """Give the device its secret; take it away with an empty one."""
    settings = settings_of(request)
    response.set_cookie(
        cookie_name(settings),
        secret,
        max_age=int(ABSOLUTE.total_seconds()) if secret else 0,
        path=path_to(request, "batteries"),
        httponly=True,
        samesite="lax",
        secure=settings.https,
    )
    return response
