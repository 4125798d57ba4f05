"""The page to which the address of a form leads whoever just looks at it.

A browser asks for such an address where somebody goes back to a form that was sent, or types what
the address bar shows.
"""

from fastapi import Request
from starlette.responses import Response
from starlette.routing import compile_path

from app.web.rendering.rendering import path_within

PAGES = {
    "/batteries/{battery_id}/discharges": "/batteries/{battery_id}/discharges/new",
    "/batteries/{battery_id}/events": "/batteries/{battery_id}",
    "/batteries/{battery_id}/imports/{import_uid}/take-back": "/batteries/{battery_id}",
    "/batteries/{battery_id}/runs": "/batteries/{battery_id}/runs/new",
    "/batteries/{battery_id}/shares": "/batteries/{battery_id}/share",
    "/batteries/{battery_id}/stays": "/batteries/{battery_id}/heat",
    "/bin/{kind}/{item_id}": "/bin",
    "/bin/{kind}/{item_id}/restore": "/bin",
    "/discharges/{discharge_id}/left-out": "/discharges/{discharge_id}",
    "/discharges/{discharge_id}/meant": "/discharges/{discharge_id}",
    "/discharges/{discharge_id}/photos": "/discharges/{discharge_id}",
    "/events/{event_id}": "/events/{event_id}/edit",
    "/history/{thing}/{item_id}/{number}": "/history/{thing}/{item_id}",
    "/look": "/preferences",
    "/network/close": "/network",
    "/network/open": "/network",
    "/network/open-to-owner": "/door",
    "/network/revoke-links": "/network",
    "/places/{place_id}/temperatures": "/places/{place_id}",
    "/records/backups": "/records",
    "/records/export": "/records",
    "/records/folder": "/records",
    "/runs/{run_id}/abandon": "/runs/{run_id}",
    "/runs/{run_id}/end": "/runs/{run_id}",
    "/runs/{run_id}/feed": "/runs/{run_id}",
    "/runs/{run_id}/feed/close": "/runs/{run_id}",
    "/runs/{run_id}/phones": "/runs/{run_id}",
    "/runs/{run_id}/phones/end": "/runs/{run_id}",
    "/runs/{run_id}/readings": "/runs/{run_id}",
    "/runs/{run_id}/readings/{reading_id}": "/runs/{run_id}",
    "/runs/{run_id}/readings/{reading_id}/answer": "/runs/{run_id}",
    "/runs/{run_id}/resume": "/runs/{run_id}",
    "/shares/{share_id}/revoke": "/shares/{share_id}",
    "/sign-out": "/",
    "/door/passphrase": "/door",
    "/door/end": "/door",
    "/door/phones/end": "/door",
}
_PATTERNS = tuple((compile_path(address)[0], page) for address, page in PAGES.items())


def page_of_form(request: Request) -> Response | None:
    """The way to the page of the form that this address takes; None where it takes none."""
    if request.method not in ("GET", "HEAD"):
        return None
    asked = path_within(request)
    found = ((pattern.match(asked), page) for pattern, page in _PATTERNS)
    for match, page in found:
        if match is not None:
            prefix: str = request.scope.get("root_path", "")
            target = prefix + page.format(**match.groupdict())
            return Response(status_code=303, headers={"Location": target})
    return None
