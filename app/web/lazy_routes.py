"""Routes that are made ready when somebody first asks for them.

The framework reads what each function asks for, and builds what checks it, when its route is
declared, and again when the route is included. For all routes that is a fifteenth of the start,
and a visit needs a few of them.
"""

from collections.abc import Callable, Mapping, Sequence
from threading import RLock
from typing import Any

from fastapi import APIRouter
from fastapi.params import Depends
from fastapi.routing import APIRoute
from starlette.routing import compile_path

# The owner's pages on the network are answered by a thread of their own: one of two that ask at
# once makes a route ready, the other waits for it.
_MAKING = RLock()
Responses = Mapping[int | str, dict[str, Any]]


class LazyRoute(APIRoute):
    """A route that at first knows what finds it and what makes its address, and no more."""

    def __init__(self, path: str, endpoint: Callable[..., Any], **options: Any) -> None:
        self._options, self._is_ready = options, False
        self.path, self.endpoint = path, endpoint
        self.name = options["name"] or endpoint.__name__
        self.methods = set(options["methods"])
        self.include_in_schema = options["include_in_schema"]
        self.path_regex, self.path_format, self.param_convertors = compile_path(path)

    def __getattr__(self, name: str) -> Any:
        # Python comes here for what is not there yet, such as what answers a request.
        if name.startswith("__") or "_is_ready" not in self.__dict__:
            raise AttributeError(name)
        with _MAKING:
            if not self._is_ready:
                self._is_ready = True
                super().__init__(self.path, self.endpoint, **self._options)
        return object.__getattribute__(self, name)

    def behind(self, dependencies: Sequence[Depends], responses: Responses) -> "LazyRoute":
        """The same route, behind these dependencies, which come before its own."""
        own = self._options
        options = own | {
            "dependencies": [*dependencies, *own["dependencies"]],
            "responses": {**responses, **own["responses"]},
        }
        return LazyRoute(self.path, self.endpoint, **options)


class LazyRouter(APIRouter):
    """The routes that a module declares."""

    def __init__(self, **options: Any) -> None:
        super().__init__(route_class=LazyRoute, **options)

    def behind(self, *dependencies: Depends, responses: Responses | None = None) -> list[LazyRoute]:
        """Its routes for an application; `include_router` would make all of them ready."""
        declared = (route for route in self.routes if isinstance(route, LazyRoute))
        return [route.behind(dependencies, responses or {}) for route in declared]
