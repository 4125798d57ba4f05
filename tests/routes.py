"""The routes of the program, one by one."""

from collections.abc import Iterator

from fastapi import FastAPI
from fastapi.routing import APIRoute


def every_route(app: FastAPI) -> Iterator[APIRoute]:
    for route in app.routes:
        inner = getattr(route, "original_router", None)
        if inner is not None:
            yield from (one for one in inner.routes if isinstance(one, APIRoute))
