"""What a watchdog asks: it answers everybody and says nothing of the records."""

from fastapi import Request
from starlette.responses import JSONResponse, Response

from app.services.health import has_room, reaches_data
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import store_of

router = LazyRouter(include_in_schema=False)


@router.get("/health", name="health")
def health(request: Request) -> Response:
    """200 while the data can be read and stored, 503 while not."""
    reached, room = reaches_data(store_of(request)), has_room(store_of(request))
    said = {
        "status": "ok" if reached and room else "trouble",
        "database": "reached" if reached else "not reached",
        "disk": "has room" if room else "full",
        "version": request.app.version,
    }
    return JSONResponse(said, status_code=200 if reached and room else 503)
