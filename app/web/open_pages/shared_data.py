"""What a read-only link shows, as JSON."""

from fastapi import Request

from app.analysis.reports.shared_report import SharedView
from app.services.access import shares
from app.web.answers.shared import SharedAnswer
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import now_of, store_of

router = LazyRouter(prefix="/api", tags=["reports"])


@router.get("/shared/{token}", response_model=SharedAnswer)
def api_shared(request: Request, token: str) -> SharedView:
    """What a read-only link shows."""
    return shares.open_share(store_of(request), token, now_of(request))
