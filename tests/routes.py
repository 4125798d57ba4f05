"""The routes of the program, one by one, and those that are open to everybody."""

from collections.abc import Iterator

from fastapi import FastAPI
from fastapi.routing import APIRoute

# What answers a device that is not the owner's, without a passphrase as with one.
OPEN = {
    "/shared/{token}",
    "/api/shared/{token}",
    "/method",
    "/words",
    "/good-test",
    "/heat-in-plain-words",
    "/static/chart-library.js",
    "/static/pages.css",
    "/health",
}


def every_route(app: FastAPI) -> Iterator[APIRoute]:
    return (route for route in app.routes if isinstance(route, APIRoute))


def asked_of_the_owner(app: FastAPI, *more_open: str) -> Iterator[tuple[str, str]]:
    """Method and path of everything that is closed to others; each number in a path is 1."""
    for route in every_route(app):
        if route.path in OPEN or route.path in more_open:
            continue
        path = route.path
        for name in route.param_convertors:
            path = path.replace(f"{{{name}}}", "1")
        for method in route.methods or ():
            yield method, path
