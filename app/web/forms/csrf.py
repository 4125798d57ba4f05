"""The word that every form of a signed-in device carries, so that no other site can send one.

It stands beside the look at Origin and Sec-Fetch-Site (`security`) and the cookie's SameSite. On
the machine itself there is no session that another site could use, and so no word.
"""

import hmac
import re
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from fastapi import Request
from jinja2.ext import Extension
from markupsafe import Markup

from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.services.access import auth
from app.web.forms.form_reader import read_form
from app.web.request import SECRET

FIELD = "form_token"
_POSTS = re.compile(r'<form\b[^>]*\bmethod="post"[^>]*>')
_ANEW = N_(
    "a form from a page that you opened after signing in. Nothing was stored. Open the page "
    "again in another tab and copy over your entries; they are still here when you go back"
)
_SAFE = ("GET", "HEAD", "OPTIONS")
_secret: ContextVar[str] = ContextVar("secret", default="")


class CsrfFields(Extension):
    """Puts the field into every form that posts, when its template is read: none is forgotten."""

    def preprocess(self, source: str, *_: str | None) -> str:
        return _POSTS.sub(lambda found: f"{found[0]}{{{{ {FIELD}() }}}}", source)


def csrf_field() -> Markup:
    """The field, for templates; nothing on the machine itself."""
    secret = _secret.get()
    if not secret:
        return Markup()
    return Markup('<input type="hidden" name="{}" value="{}">').format(
        FIELD, auth.form_token(secret)
    )


@contextmanager
def forms_of(secret: str) -> Iterator[None]:
    """Meanwhile forms carry the word of this session."""
    before = _secret.set(secret)
    try:
        yield
    finally:
        _secret.reset(before)


async def form_is_ours(request: Request) -> AsyncIterator[None]:
    """Dependency of every page: a form that a signed-in device sends is one that was made for it.

    Raises InvalidInput.
    """
    secret = str(request.scope.get(SECRET, ""))
    if not secret or request.method in _SAFE:
        yield
        return
    form = await read_form(request)
    try:
        given = form.get(FIELD)
        if not isinstance(given, str) or not _is_same(given, auth.form_token(secret)):
            raise InvalidInput.because(
                say("form"), say("one that was not made for this sign-in"), say(_ANEW)
            )
        yield
    finally:
        # A page that has no use for its form does not close it.
        await form.close()


def _is_same(given: str, made: str) -> bool:
    return hmac.compare_digest(given.encode(errors="replace"), made.encode())
