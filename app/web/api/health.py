"""What a watchdog asks: it answers everybody and says nothing of the records."""

from anyio import move_on_after, to_thread
from fastapi import Request
from starlette.responses import JSONResponse, Response

from app.services.health import has_room, reaches_data
from app.web.lazy_routes import LazyRouter
from app.web.rendering.rendering import store_of

ANSWERS_WITHIN_S = 5
router = LazyRouter(include_in_schema=False)


@router.get("/health", name="health")
async def health(request: Request) -> Response:
    """200 while the data can be read and stored, 503 while not, or not soon."""
    store = store_of(request)
    reached = room = False
    with move_on_after(ANSWERS_WITHIN_S):
        # A database that hangs keeps its thread; the answer goes out without it.
        room = await to_thread.run_sync(has_room, store, abandon_on_cancel=True)
        reached = await to_thread.run_sync(reaches_data, store, abandon_on_cancel=True)
    said = {
        "status": "ok" if reached and room else "trouble",
        "database": "reached" if reached else "not reached",
        "disk": "has room" if room else "full",
        "version": request.app.version,
    }
    return JSONResponse(said, status_code=200 if reached and room else 503)
