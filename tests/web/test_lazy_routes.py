"""Routes are made ready one by one: not before they are asked for, and each of them can be."""

import sys
from functools import partial

from app.server.application import PAGES
from app.web.lazy_routes import LazyRoute
from app.web.pages import battery_list
from tests.concurrency import at_once
from tests.routes import every_route


def test_declaring_routes_makes_none_of_them_ready():
    for part in PAGES:
        for route in part.router.behind():
            assert "dependant" not in vars(route), route.path


def test_threads_that_ask_for_a_route_at_once_all_find_it_ready():
    """Without the lock nine of ten such routes were found half made."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        for route in battery_list.router.behind() * 20:
            fresh = route.behind((), {})
            assert at_once(*[partial(getattr, fresh, "app")] * 4) == [None] * 4
    finally:
        sys.setswitchinterval(before)


def test_every_route_can_be_made_ready_behind_what_keeps_it(app):
    routes = list(every_route(app))
    assert len(routes) > 100
    for route in routes:
        assert isinstance(route, LazyRoute), route.path
        assert route.dependant.call is route.endpoint
        kept_by = [one.dependency for one in route.dependencies]
        assert [one.call for one in route.dependant.dependencies][: len(kept_by)] == kept_by
