"""Whether a write comes from a page of this very server."""

from starlette.datastructures import Headers
from starlette.types import Scope

from app.domain.i18n.message import say
from app.web.request import host_of

SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


def cross_site(scope: Scope, *, must_say: bool, public_address: str = "") -> str:
    """Why a write is taken for another site's; empty where it is not.

    Both headers are the browser's own, which no script can set. A program without a browser sends
    neither; must_say says that it has no business here.
    """
    if scope["method"] in SAFE_METHODS:
        return ""
    headers = Headers(scope=scope)
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if origin is None and site is None and must_say:
        return say("This request does not say which site it came from. Nothing was changed.")
    from_elsewhere = origin is not None and not _is_own(origin, host_of(scope), public_address)
    if from_elsewhere or site not in (None, "same-origin", "none"):
        return say("This request came from another site. Nothing was changed.")
    return ""


def _is_own(origin: str, named: str, public_address: str) -> bool:
    if public_address:
        return origin == public_address
    # As every browser writes it: the scheme and the host, nothing behind them (RFC 6454, 6.2).
    return origin in (f"http://{named}", f"https://{named}")
