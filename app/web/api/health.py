"""What a watchdog asks: it answers everybody and says nothing of the records."""

from asyncio import create_task, wait

from fastapi import Request
from starlette.concurrency import run_in_threadpool
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
    asked = [create_task(run_in_threadpool(one, store)) for one in (reaches_data, has_room)]
    # A database that hangs keeps its thread; the answer goes out without it.
    done, _ = await wait(asked, timeout=ANSWERS_WITHIN_S)
    reached, room = (one in done and one.result() for one in asked)
    said = {
        "status": "ok" if reached and room else "trouble",
        "database": "reached" if reached else "not reached",
        "disk": "has room" if room else "full",
        "version": request.app.version,
    }
    return JSONResponse(said, status_code=200 if reached and room else 503)
