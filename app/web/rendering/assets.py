"""Static files: versioned by their content and cached for good, the style sheets of a page as one,
the chart library packed once."""

import gzip
import hashlib
from functools import cache
from threading import Lock

from fastapi import Request
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

from app.settings import STATIC
from app.web.lazy_routes import LazyRouter

CHART_LIBRARY = "chart-library.js"
# The style sheets of every page. Of two rules of one weight the later wins, so the order counts.
STYLE_SHEETS = (
    "tokens.css",
    "drawings.css",
    "frame.css",
    "words.css",
    "answers.css",
    "battery.css",
    "list.css",
    "forms.css",
    "entry.css",
    "tables.css",
    "charts.css",
    "paper.css",
    "screens.css",
)
FOR_GOOD = "public, max-age=31536000, immutable"
router = LazyRouter(include_in_schema=False)
_packing = Lock()


class VersionedFiles(StaticFiles):
    """Files whose address carries their hash never change; others are asked for again."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        response = await super().get_response(path, scope)
        versioned = b"v=" in scope.get("query_string", b"")
        response.headers["Cache-Control"] = FOR_GOOD if versioned else "no-cache"
        return response


@cache
def static_version(name: str) -> str:
    """The hash behind a file's address."""
    return _digest((STATIC / name).read_bytes())


def chart_library_version() -> str:
    return static_version(CHART_LIBRARY)


@cache
def page_styles() -> str:
    """The style sheets of every page in their order, as one file: a page waits for each it asks."""
    return "".join((STATIC / name).read_text(encoding="utf-8") for name in STYLE_SHEETS)


@cache
def page_styles_version() -> str:
    return _digest(page_styles().encode())


@router.get("/static/pages.css", name="page_styles")
def send_page_styles() -> Response:
    headers = {"Cache-Control": FOR_GOOD}
    return Response(page_styles(), media_type="text/css", headers=headers)


@router.get("/static/chart-library.js", name="chart_library")
def chart_library(request: Request) -> Response:
    """The drawing part of Plotly.js, compressed once a start."""
    accepts = "gzip" in request.headers.get("accept-encoding", "")
    headers = {"Cache-Control": FOR_GOOD, "Vary": "Accept-Encoding"}
    if accepts:
        headers["Content-Encoding"] = "gzip"
    body = _packed_library() if accepts else _chart_library()
    return Response(body, media_type="text/javascript", headers=headers)


def _packed_library() -> bytes:
    # Two pages opened at once must not pack it twice.
    with _packing:
        return _pack()


@cache
def _pack() -> bytes:
    return gzip.compress(_chart_library(), 6)


def _chart_library() -> bytes:
    return (STATIC / CHART_LIBRARY).read_bytes()


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:12]
