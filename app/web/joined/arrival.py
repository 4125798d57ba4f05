"""Arriving with a code: the page that it opens, and the form that uses it up."""

import logging
from dataclasses import dataclass

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.responses import Response

from app.domain.errors import LinkClosed, NotFound
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.joining import PhoneStanding
from app.services.access import joining
from app.web.joined.phone_guard import hand_over, held_by
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import Id, now_of, page, see_other, store_of
from app.web.security.requester import sender_of

log = logging.getLogger("fadeline")
router = LazyRouter(include_in_schema=False, default_response_class=HTMLResponse)
CODE_CLOSED = N_(
    "This code does not work: a phone has used it, its ten minutes are over, or the test has "
    "ended. On the test's page, press “Let a phone join” again and scan the new code."
)


@dataclass(frozen=True)
class ArrivalPage:
    """What arrival.html needs: where its one button leads."""

    run_id: int
    code: str


def with_open_code(request: Request, run_id: Id, code: str) -> None:
    """Dependency of these pages: a code that opens, or a phone that is in already.

    Raises NotFound.
    """
    if _is_in(request, run_id):
        return
    if not joining.code_opens(store_of(request), run_id, code, now_of(request)):
        raise NotFound(say(CODE_CLOSED))


@router.get("/joined/{run_id}/join/{code}", name="arrive")
def show_arrival(request: Request, run_id: Id, code: str) -> Response:
    """It uses nothing up: whoever looks ahead at an address fetches it, too."""
    if _is_in(request, run_id):
        # Back in the browser, or the same code again.
        return see_other(request, "run", run_id=run_id)
    return page(request, "arrival.html", ArrivalPage(run_id, code))


@router.post("/joined/{run_id}/join/{code}", name="join_run")
def join_run(request: Request, run_id: Id, code: str) -> Response:
    """Use the code up, and give this phone its session."""
    response = see_other(request, "run", run_id=run_id)
    if _is_in(request, run_id):
        return response
    try:
        secret = joining.join(store_of(request), run_id, code, now_of(request))
    except LinkClosed:
        # Another phone was quicker.
        raise NotFound(say(CODE_CLOSED)) from None
    log.info("a phone joined running test %s from %s", run_id, sender_of(request))
    return hand_over(request, response, run_id, secret)


def _is_in(request: Request, run_id: int) -> bool:
    standing = joining.find_phone(
        store_of(request), run_id, held_by(request), now_of(request), uses=False
    )
    return standing is PhoneStanding.JOINED
